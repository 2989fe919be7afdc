"""Answers already given, so that a repeated request is answered, not done again."""

from django.db import models

from rotas.models.member import Member
from rotas.models.practice import PracticeRow


class GivenAnswer(PracticeRow):
    """The answer to one write, by the key that the client made for it."""

    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="+")
    key = models.CharField(max_length=80)
    request_hash = models.CharField(max_length=64)
    status = models.PositiveSmallIntegerField(null=True)
    body = models.JSONField(null=True)
    made_at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["member", "key"], name="answer_once_per_key")]

    def __str__(self) -> str:
        return f"{self.key}: {self.status}"
