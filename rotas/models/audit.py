"""The story of what was done, line by line."""

import pgtrigger
from django.core.serializers.json import DjangoJSONEncoder
from django.db import models

from rotas.models.member import Member
from rotas.models.practice import PracticeRow
from rotas.models.tracking import NO_REWRITE, NO_TRUNCATE


class AuditLine(PracticeRow):
    """Who did what, when, with the values before and after. Written once, never changed.

    `at` is when it happened by the clock that was passed in; `written_at` is the database's own.
    """

    at = models.DateTimeField()
    written_at = models.DateTimeField(auto_now_add=True)
    actor = models.ForeignKey(Member, on_delete=models.PROTECT, null=True, related_name="+")
    actor_name = models.CharField(max_length=120, help_text="As it was then, or the name of the process.")
    verb = models.CharField(max_length=60)
    subject = models.CharField(max_length=60, help_text="Such as call:41.")
    sentence = models.TextField()
    reason = models.TextField(blank=True)
    before = models.JSONField(default=dict, blank=True, encoder=DjangoJSONEncoder)
    after = models.JSONField(default=dict, blank=True, encoder=DjangoJSONEncoder)

    class Meta:
        indexes = [
            models.Index(fields=["practice", "subject", "at"]),
            models.Index(fields=["practice", "at"]),
        ]
        triggers: list[pgtrigger.Trigger] = [NO_REWRITE, NO_TRUNCATE]

    def __str__(self) -> str:
        return self.sentence
