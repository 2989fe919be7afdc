"""Tables of the ground floor: who works here, and when."""

from rotas.models.audit import AuditLine
from rotas.models.availability import Leave, LeaveState, NamedSecond, NotOn, RotaWish
from rotas.models.calendar_feed import CalendarFeed
from rotas.models.cover import CoverNeed
from rotas.models.idempotency import GivenAnswer
from rotas.models.inbound import GatewayKey, InboundMessage, InboundState, Receipt, ReceiptStatus
from rotas.models.member import Member, Role
from rotas.models.outbox import DEAD, GONE, Channel, MessageState, NextWay, OutboxMessage
from rotas.models.practice import Jurisdiction, Neighbour, Practice, PracticeRow, PracticeRowQuerySet
from rotas.models.reach import Reach
from rotas.models.report import ReportNote, ReportSeen
from rotas.models.rest import RestException, RestOwed
from rotas.models.rota import BuildState, DraftDuty, Repair, RepairState, Rota, RotaState
from rotas.models.shift import DutyKind, DutyRecord, Shift, ShiftRole
from rotas.models.swap import Swap, SwapState
from rotas.models.tiredness import MOST_HOURS_SLEPT, TirednessReport
from rotas.models.vet import Kit, KitPlace, KitState, Level, NotAvailableFor, SelfReport, Vet, VetSkill

__all__ = [
    "DEAD",
    "GONE",
    "MOST_HOURS_SLEPT",
    "AuditLine",
    "BuildState",
    "CalendarFeed",
    "Channel",
    "CoverNeed",
    "DraftDuty",
    "DutyKind",
    "DutyRecord",
    "GatewayKey",
    "GivenAnswer",
    "InboundMessage",
    "InboundState",
    "Jurisdiction",
    "Kit",
    "KitPlace",
    "KitState",
    "Leave",
    "LeaveState",
    "Level",
    "Member",
    "MessageState",
    "NamedSecond",
    "Neighbour",
    "NextWay",
    "NotAvailableFor",
    "NotOn",
    "OutboxMessage",
    "Practice",
    "PracticeRow",
    "PracticeRowQuerySet",
    "Reach",
    "Receipt",
    "ReceiptStatus",
    "Repair",
    "RepairState",
    "ReportNote",
    "ReportSeen",
    "RestException",
    "RestOwed",
    "Role",
    "Rota",
    "RotaState",
    "RotaWish",
    "SelfReport",
    "Shift",
    "ShiftRole",
    "Swap",
    "SwapState",
    "TirednessReport",
    "Vet",
    "VetSkill",
]
