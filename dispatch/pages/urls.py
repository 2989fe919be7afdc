"""Addresses of the pages; `/api/v1/` has its own."""

from django.urls import URLPattern, URLResolver, path

from cases.pages import take, visit
from dispatch.pages import call, desk, mine, stream
from rotas.pages.sign_in import SignIn, SignOut

urlpatterns: list[URLPattern | URLResolver] = [
    path("sign-in/", SignIn.as_view(), name="sign-in"),
    path("", desk.show, name="desk"),
    path("desk/live/", desk.live),
    path("stream/", stream.stream, name="stream"),
    path("map/lines.json", desk.lines),
    path("calls/<int:call_id>/offer/", desk.offer),
    path("calls/<int:call_id>/", call.show, name="call"),
    path("calls/<int:call_id>/live/", call.live),
    path("calls/<int:call_id>/<slug:name>/", call.step),
    path("offers/<int:offer_id>/withdraw/", desk.withdraw),
    path("calls/take/", take.take, name="take-call"),
    path("calls/take/farms/", take.farms),
    path("calls/take/complaints/", take.complaints),
    path("calls/take/questions/", take.questions),
    path("calls/take/assessed/", take.assessed),
    path("mine/", mine.show, name="mine"),
    path("mine/live/", mine.live),
    path("mine/feel/", mine.feel),
    path("mine/offers/<int:offer_id>/accept/", mine.accept),
    path("mine/offers/<int:offer_id>/decline/", mine.decline),
    path("mine/booked/<int:booked_id>/", mine.take),
    path("visits/<int:visit_id>/", visit.show, name="visit"),
    path("visits/<int:visit_id>/report/", visit.report),
    path("visits/<int:visit_id>/treatments/", visit.treat),
    path("withdrawals/<int:withdrawal_id>/sign/", visit.sign),
    path("sign-out/", SignOut.as_view(), name="sign-out"),
]
