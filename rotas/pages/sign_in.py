"""Signing in and out."""

from django import forms
from django.contrib.auth.forms import AuthenticationForm, UsernameField
from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET


class NameAndPassword(AuthenticationForm):
    """What is typed, no longer than can be kept of a failed attempt."""

    username = UsernameField(max_length=150)
    password = forms.CharField(max_length=200, strip=False)


class SignIn(LoginView):
    """The sign-in page; a member who is signed in already goes on."""

    form_class = NameAndPassword
    template_name = "rotas/sign_in.html"
    redirect_authenticated_user = True


class SignOut(LogoutView):
    """Ends the session; only by a form, so that no link on another site can do it."""


@never_cache
@require_GET
def standing(request: HttpRequest) -> HttpResponse:
    """Tell a page that has been open for long who is signed in now, and the token its forms need.

    Only our own pages can read it; signing in anew makes the token of every open page void.
    """
    if not request.user.is_authenticated:
        return JsonResponse({"member": None, "token": ""})
    return JsonResponse({"member": request.user.pk, "token": get_token(request)})


def locked_out(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
    """Say that too many wrong passwords were given, and until when nothing helps."""
    return render(request, "rotas/locked_out.html", status=429)
