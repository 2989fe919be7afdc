"""Addresses of the pages; `/api/v1/` has its own."""

from django.urls import URLPattern, URLResolver, path

from rotas.pages.sign_in import SignIn, SignOut

urlpatterns: list[URLPattern | URLResolver] = [
    path("sign-in/", SignIn.as_view(), name="sign-in"),
    path("sign-out/", SignOut.as_view(), name="sign-out"),
]
