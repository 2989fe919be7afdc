"""Looking at rows of this floor. Nothing can be changed here: services write, with their story."""

from typing import Any

from django.contrib import admin
from django.db.models import Model
from django.http import HttpRequest

from dispatch.models import Offer, Plan, PlanTurn


class ReadOnly(admin.ModelAdmin):
    """Shows rows to staff who may view them; adds, changes and deletes nothing."""

    def has_add_permission(self, request: HttpRequest, obj: Model | None = None) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


@admin.register(Offer)
class OfferAdmin(ReadOnly):
    list_display = ("call", "vet", "place", "state", "made_at", "lapses_at", "answered_at")
    list_filter = ("practice", "state", "decline_reason")
    list_select_related = ("call", "vet__member")


@admin.register(Plan)
class PlanAdmin(ReadOnly):
    list_display = ("made_at", "practice", "status", "because", "solve_seconds")
    list_filter = ("practice", "status")
    list_select_related = ("practice",)


@admin.register(PlanTurn)
class PlanTurnAdmin(ReadOnly):
    list_display = ("practice", "asked", "answered", "because", "failed_at")
    list_select_related = ("practice",)
