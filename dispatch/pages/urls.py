"""Addresses of the pages; `/api/v1/` has its own."""

from django.urls import URLPattern, URLResolver, path

from cases.pages import aftercare, book, take, visit
from dispatch.pages import call, desk, drive_home, mine, stream
from rotas.pages import calendar, rest_report, rota, story
from rotas.pages.sign_in import SignIn, SignOut, standing

urlpatterns: list[URLPattern | URLResolver] = [
    path("sign-in/", SignIn.as_view(), name="sign-in"),
    path("sign-in/standing/", standing),
    path("", desk.show, name="desk"),
    path("desk/live/", desk.live),
    path("stream/", stream.stream, name="stream"),
    path("map/lines.json", desk.lines),
    path("calls/<int:call_id>/offer/", desk.offer),
    path("calls/<int:call_id>/", call.show, name="call"),
    path("calls/<int:call_id>/live/", call.live),
    path("calls/<int:call_id>/picked/", call.picked),
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
    path("visits/<int:visit_id>/live/", visit.live),
    path("visits/<int:visit_id>/report/", visit.report),
    path("visits/<int:visit_id>/drive/", visit.drive),
    path("visits/<int:visit_id>/drive-home/", drive_home.show),
    path("visits/<int:visit_id>/treatments/", visit.treat),
    path("withdrawals/<int:withdrawal_id>/sign/", visit.sign),
    path("book/", book.book, name="book"),
    path("book/day/", book.today),
    path("book/<int:booked_id>/cancel/", book.cancel),
    path("aftercare/", aftercare.show, name="aftercare"),
    path("aftercare/live/", aftercare.live),
    path("aftercare/rechecks/<int:recheck_id>/", aftercare.result),
    path("aftercare/messages/<int:message_id>/again/", aftercare.send_again),
    path("rota/", rota.show, name="rota"),
    path("rota/<int:shift_id>/end/", rota.end),
    path("rota/calendar/", calendar.show, name="rota-calendar"),
    path("rota/calendar/<int:feed_id>/revoke/", calendar.revoke),
    path("calendar/<str:secret>.ics", calendar.read),
    path("rest/", rest_report.show, name="rest-report"),
    path("rest/table.csv", rest_report.as_csv),
    path("rest/owed/<int:owed_id>/", rest_report.taken),
    path("story/", story.show, name="story"),
    path("sign-out/", SignOut.as_view(), name="sign-out"),
]
