"""Addresses of the ground floor."""

from django.urls import path

from rotas.api.fatigue import Fatigue
from rotas.api.people import Members, Neighbours
from rotas.api.rest_owed import Owed, RestTaken
from rotas.api.shifts import ShiftEnd, Shifts
from rotas.api.sign_in import Me, SignIn, SignOut
from rotas.api.story import Story
from rotas.api.vets import KitMove, LiftStandDown, MyReport, Vets

urlpatterns = [
    path("sign-in", SignIn.as_view()),
    path("sign-out", SignOut.as_view()),
    path("me", Me.as_view()),
    path("me/report", MyReport.as_view()),
    path("members", Members.as_view()),
    path("neighbours", Neighbours.as_view()),
    path("vets", Vets.as_view()),
    path("vets/<int:pk>/lift-stand-down", LiftStandDown.as_view()),
    path("kit/<int:pk>/move", KitMove.as_view()),
    path("shifts", Shifts.as_view()),
    path("shifts/<int:pk>/end", ShiftEnd.as_view()),
    path("fatigue-report", Fatigue.as_view()),
    path("rest-owed", Owed.as_view()),
    path("rest-owed/<int:pk>/take", RestTaken.as_view()),
    path("story", Story.as_view()),
]
