"""Addresses of the ground floor."""

from django.urls import path

from rotas.api.cover import Cover, CoverEnd
from rotas.api.fatigue import Fatigue
from rotas.api.gateway import GatewayKeyEnd, GatewayKeys, GatewayReceipts, GatewayReplies, GatewaySecret
from rotas.api.leave import LeaveApprove, LeaveConflictsDoor, LeaveRefuse, Leaves, LeaveWithdraw
from rotas.api.messages import MessageAgain, MessageClose, Messages, MessageTold
from rotas.api.people import Members, Neighbours
from rotas.api.reach import MyReach, MyReachEnd
from rotas.api.repairs import Alerts, RepairAccept, Repairs
from rotas.api.replies import Replies, ReplyRead
from rotas.api.report_words import OwnFatigue, OwnReportSeen, ReportNotes
from rotas.api.rest_owed import Owed, RestTaken
from rotas.api.rest_rules import RestRules
from rotas.api.rota_terms import KeepOffEnd, KeepOffs, NamedSecondEnd, NamedSeconds, RotaTerms
from rotas.api.rotas import (
    DutyMove,
    OneRota,
    RotaBroken,
    RotaBuild,
    RotaDuties,
    RotaPublish,
    Rotas,
    RotaWithdraw,
)
from rotas.api.shifts import ShiftEnd, Shifts
from rotas.api.sign_in import Me, SignIn, SignOut
from rotas.api.story import Story
from rotas.api.swaps import SwapAccept, SwapApprove, SwapRefuse, Swaps, SwapVeto, SwapWithdraw
from rotas.api.vets import KitMove, LiftStandDown, MyReport, Vets
from rotas.api.wishes import Wishes, WishWithdraw

urlpatterns = [
    path("sign-in", SignIn.as_view()),
    path("sign-out", SignOut.as_view()),
    path("me", Me.as_view()),
    path("me/reach", MyReach.as_view()),
    path("me/reach/<int:pk>/end", MyReachEnd.as_view()),
    path("messages", Messages.as_view()),
    path("messages/<int:pk>/again", MessageAgain.as_view()),
    path("messages/<int:pk>/told", MessageTold.as_view()),
    path("messages/<int:pk>/close", MessageClose.as_view()),
    path("replies", Replies.as_view()),
    path("replies/<int:pk>/read", ReplyRead.as_view()),
    path("gateway/receipts", GatewayReceipts.as_view()),
    path("gateway/replies", GatewayReplies.as_view()),
    path("gateway/keys", GatewayKeys.as_view()),
    path("gateway/keys/<int:pk>/secret", GatewaySecret.as_view()),
    path("gateway/keys/<int:pk>/end", GatewayKeyEnd.as_view()),
    path("me/report", MyReport.as_view()),
    path("me/fatigue-report", OwnFatigue.as_view()),
    path("me/fatigue-report/seen", OwnReportSeen.as_view()),
    path("members", Members.as_view()),
    path("neighbours", Neighbours.as_view()),
    path("vets", Vets.as_view()),
    path("vets/<int:pk>/report-notes", ReportNotes.as_view()),
    path("vets/<int:pk>/lift-stand-down", LiftStandDown.as_view()),
    path("vets/<int:pk>/rota-terms", RotaTerms.as_view()),
    path("vets/<int:pk>/keep-offs", KeepOffs.as_view()),
    path("vets/<int:pk>/named-seconds", NamedSeconds.as_view()),
    path("keep-offs/<int:pk>/end", KeepOffEnd.as_view()),
    path("named-seconds/<int:pk>/end", NamedSecondEnd.as_view()),
    path("kit/<int:pk>/move", KitMove.as_view()),
    path("shifts", Shifts.as_view()),
    path("shifts/<int:pk>/end", ShiftEnd.as_view()),
    path("cover", Cover.as_view()),
    path("cover/<int:pk>/end", CoverEnd.as_view()),
    path("rotas", Rotas.as_view()),
    path("rotas/<int:pk>", OneRota.as_view()),
    path("rotas/<int:pk>/duties", RotaDuties.as_view()),
    path("rotas/<int:pk>/broken", RotaBroken.as_view()),
    path("rotas/<int:pk>/build", RotaBuild.as_view()),
    path("rotas/<int:pk>/publish", RotaPublish.as_view()),
    path("rotas/<int:pk>/withdraw", RotaWithdraw.as_view()),
    path("draft-duties/<int:pk>/move", DutyMove.as_view()),
    path("swaps", Swaps.as_view()),
    path("swaps/<int:pk>/accept", SwapAccept.as_view()),
    path("swaps/<int:pk>/refuse", SwapRefuse.as_view()),
    path("swaps/<int:pk>/withdraw", SwapWithdraw.as_view()),
    path("swaps/<int:pk>/veto", SwapVeto.as_view()),
    path("swaps/<int:pk>/approve", SwapApprove.as_view()),
    path("leave", Leaves.as_view()),
    path("leave/<int:pk>/conflicts", LeaveConflictsDoor.as_view()),
    path("leave/<int:pk>/approve", LeaveApprove.as_view()),
    path("leave/<int:pk>/refuse", LeaveRefuse.as_view()),
    path("leave/<int:pk>/withdraw", LeaveWithdraw.as_view()),
    path("wishes", Wishes.as_view()),
    path("wishes/<int:pk>/withdraw", WishWithdraw.as_view()),
    path("repairs", Repairs.as_view()),
    path("repairs/<int:pk>/accept", RepairAccept.as_view()),
    path("alerts", Alerts.as_view()),
    path("fatigue-report", Fatigue.as_view()),
    path("rest-rules", RestRules.as_view()),
    path("rest-owed", Owed.as_view()),
    path("rest-owed/<int:pk>/take", RestTaken.as_view()),
    path("story", Story.as_view()),
]
