"""Addresses of the ground floor."""

from django.urls import path

from rotas.api.fatigue import Fatigue
from rotas.api.shifts import ShiftEnd, Shifts
from rotas.api.sign_in import Me, SignIn, SignOut
from rotas.api.vets import MyReport, Vets

urlpatterns = [
    path("sign-in", SignIn.as_view()),
    path("sign-out", SignOut.as_view()),
    path("me", Me.as_view()),
    path("me/report", MyReport.as_view()),
    path("vets", Vets.as_view()),
    path("shifts", Shifts.as_view()),
    path("shifts/<int:pk>/end", ShiftEnd.as_view()),
    path("fatigue-report", Fatigue.as_view()),
]
