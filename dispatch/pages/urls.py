"""Addresses of the pages; `/api/v1/` has its own."""

from django.urls import URLPattern, URLResolver, path

from cases.pages import take
from rotas.pages.sign_in import SignIn, SignOut

urlpatterns: list[URLPattern | URLResolver] = [
    path("sign-in/", SignIn.as_view(), name="sign-in"),
    path("calls/take/", take.take, name="take-call"),
    path("calls/take/farms/", take.farms),
    path("calls/take/complaints/", take.complaints),
    path("calls/take/questions/", take.questions),
    path("calls/take/assessed/", take.assessed),
    path("sign-out/", SignOut.as_view(), name="sign-out"),
]
