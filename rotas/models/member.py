"""Who signs in."""

from django.contrib.auth.models import AbstractUser, UserManager
from django.contrib.postgres.fields import ArrayField
from django.db import models
from phonenumber_field.modelfields import PhoneNumberField

from rotas.models.practice import Practice, PracticeRowQuerySet
from rotas.models.tracking import tracked_except


class Role(models.TextChoices):
    """What a member may do; one person may hold several."""

    RECEPTION = "reception", "reception"
    VET = "vet", "vet"
    MANAGER = "manager", "manager"


class MemberManager(UserManager.from_queryset(PracticeRowQuerySet)):
    """Django's user manager with the practice filter."""


@tracked_except("password", "last_login")
class Member(AbstractUser):
    """A person of one practice who signs in, with the roles they hold."""

    practice = models.ForeignKey(Practice, on_delete=models.PROTECT, related_name="members")
    name = models.CharField(max_length=120)
    roles = ArrayField(models.CharField(max_length=12, choices=Role), default=list, blank=True)
    phone = PhoneNumberField(blank=True)

    REQUIRED_FIELDS = ["email", "practice", "name"]

    objects = MemberManager()

    class Meta:
        indexes = [models.Index(fields=["practice", "username"])]

    def __str__(self) -> str:
        return self.name

    def holds(self, role: str) -> bool:
        """Say whether the member holds the role; a manager may do what reception may."""
        return role in self.roles or (role == Role.RECEPTION and Role.MANAGER in self.roles)
