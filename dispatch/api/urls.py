"""Addresses of the API, /api/v1/."""

from django.urls import include, path

from dispatch.api.calls import Assign, OneCall, TakeBooking
from dispatch.api.offers import Accept, Decline, Offers, Withdraw
from dispatch.api.plan import PlanNow
from dispatch.api.schema import schema_file

urlpatterns = [
    path("schema", schema_file),
    path("plan", PlanNow.as_view()),
    path("offers", Offers.as_view()),
    path("offers/<int:pk>/accept", Accept.as_view()),
    path("offers/<int:pk>/decline", Decline.as_view()),
    path("offers/<int:pk>/withdraw", Withdraw.as_view()),
    path("calls/<int:pk>", OneCall.as_view()),
    path("calls/<int:pk>/assign", Assign.as_view()),
    path("bookings/<int:pk>/take", TakeBooking.as_view()),
    path("", include("cases.api.urls")),
    path("", include("rotas.api.urls")),
]
