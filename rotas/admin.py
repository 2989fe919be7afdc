"""Looking at the ground floor's tables. Nothing is changed here: writes go through services."""

from typing import Any

from django.apps import apps
from django.contrib import admin
from django.db import models
from django.http import HttpRequest

from rotas.models import Member, Practice


class LookOnly(admin.ModelAdmin):
    """Shows rows and changes none. Staff see their own practice, the installation's owner all."""

    exclude: tuple[str, ...] = ("password", "secret_hash")
    list_per_page = 50
    show_full_result_count = False

    def get_queryset(self, request: HttpRequest) -> models.QuerySet[Any]:
        """Keep the rows of the member's own practice."""
        rows = super().get_queryset(request)
        member = request.user
        if not isinstance(member, Member) or member.is_superuser:
            return rows
        field = "pk" if self.model is Practice else "practice"
        return rows.filter(**{field: member.practice_id})

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """Refuse."""
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """Refuse."""
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """Refuse."""
        return False

    def has_view_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        """Allow staff."""
        return bool(request.user.is_active and request.user.is_staff)

    def has_module_permission(self, request: HttpRequest) -> bool:
        """Allow staff."""
        return self.has_view_permission(request)


def show(app: str, also: tuple[str, ...] = ()) -> None:
    """Put every table of a floor that belongs to a practice on show; event tables stay out."""
    for model in apps.get_app_config(app).get_models():
        fields = {field.name for field in model._meta.get_fields()}
        if "pgh_id" not in fields and ("practice" in fields or model.__name__ in also):
            admin.site.register(model, LookOnly)


show("rotas", also=("Practice",))
