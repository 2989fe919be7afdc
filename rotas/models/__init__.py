"""Tables of the ground floor: who works here, and when."""

from rotas.models.audit import AuditLine
from rotas.models.idempotency import GivenAnswer
from rotas.models.member import Member, Role
from rotas.models.outbox import MessageState, OutboxMessage
from rotas.models.practice import Jurisdiction, Neighbour, Practice, PracticeRow, PracticeRowQuerySet
from rotas.models.rest import RestException, RestOwed
from rotas.models.shift import DutyKind, DutyRecord, Shift, ShiftRole
from rotas.models.vet import Kit, KitPlace, KitState, Level, NotAvailableFor, SelfReport, Vet, VetSkill

__all__ = [
    "AuditLine",
    "DutyKind",
    "DutyRecord",
    "GivenAnswer",
    "Jurisdiction",
    "Kit",
    "KitPlace",
    "KitState",
    "Level",
    "Member",
    "MessageState",
    "Neighbour",
    "NotAvailableFor",
    "OutboxMessage",
    "Practice",
    "PracticeRow",
    "PracticeRowQuerySet",
    "RestException",
    "RestOwed",
    "Role",
    "SelfReport",
    "Shift",
    "ShiftRole",
    "Vet",
    "VetSkill",
]
