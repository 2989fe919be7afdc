"""Tables of the middle floor: whom we serve, what was done, what is owed next."""

from cases.models.call import OPEN_STATES, Call, CallState, Urgency
from cases.models.client import Animal, Client, ClientPhone, DiseaseStatus, Group, Location, MilkingSystem
from cases.models.medicine import Commodity, LabelPeriod, Medicine, PeriodUnit
from cases.models.recheck import Recheck, RecheckState
from cases.models.reminder import Reminder, ReminderState
from cases.models.treatment import Treatment
from cases.models.visit import (
    ACTIVE_VISITS,
    BookedKind,
    BookedState,
    BookedVisit,
    ReportKind,
    Visit,
    VisitReport,
    VisitState,
)
from cases.models.withdrawal import Withdrawal, WithdrawalState

__all__ = [
    "ACTIVE_VISITS",
    "OPEN_STATES",
    "Animal",
    "BookedKind",
    "BookedState",
    "BookedVisit",
    "Call",
    "CallState",
    "Client",
    "ClientPhone",
    "Commodity",
    "DiseaseStatus",
    "Group",
    "LabelPeriod",
    "Location",
    "Medicine",
    "MilkingSystem",
    "PeriodUnit",
    "Recheck",
    "RecheckState",
    "Reminder",
    "ReminderState",
    "ReportKind",
    "Treatment",
    "Urgency",
    "Visit",
    "VisitReport",
    "VisitState",
    "Withdrawal",
    "WithdrawalState",
]
