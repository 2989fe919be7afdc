"""Signing in and out."""

from django.contrib.auth.views import LoginView, LogoutView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render


class SignIn(LoginView):
    """The sign-in page; a member who is signed in already goes on."""

    template_name = "rotas/sign_in.html"
    redirect_authenticated_user = True


class SignOut(LogoutView):
    """Ends the session; only by a form, so that no link on another site can do it."""


def locked_out(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponse:
    """Say that too many wrong passwords were given, and until when nothing helps."""
    return render(request, "rotas/locked_out.html", status=429)
