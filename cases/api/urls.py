"""Addresses of the middle floor."""

from django.urls import path

from cases.api import call_steps, formulary, procedures, recheck_steps
from cases.api.aftercare_steps import SetWithdrawal, Withdrawals
from cases.api.bookings import BookingCancel, Bookings
from cases.api.calls import Calls
from cases.api.catalogue import Complaints
from cases.api.farms import Clients, Locations
from cases.api.followups import Followups
from cases.api.rechecks import Rechecks
from cases.api.records import Exchange, MedicineRecord, TreatedAnimals
from cases.api.treating import TreatmentCheck, Treatments
from cases.api.visits import OneVisit, Reports, StandDown, Visits

urlpatterns = [
    path("complaints", Complaints.as_view()),
    path("medicines", formulary.Medicines.as_view()),
    path("medicines/<int:pk>/end", formulary.EndMedicine.as_view()),
    path("medicines/<int:pk>/entries", formulary.Entries.as_view()),
    path("medicines/<int:pk>/batches", formulary.Batches.as_view()),
    path("label-entries/<int:pk>/end", formulary.EndEntry.as_view()),
    path("label-entries/<int:pk>/confirm", formulary.ConfirmEntry.as_view()),
    path("batches/<int:pk>/end", formulary.EndBatch.as_view()),
    path("formulary/sheet", formulary.Sheet.as_view()),
    path("formulary/starter-rows", formulary.StarterRows.as_view()),
    path("clients", Clients.as_view()),
    path("locations", Locations.as_view()),
    path("locations/<int:pk>/medicine-record", MedicineRecord.as_view()),
    path("locations/<int:pk>/treated-animals", TreatedAnimals.as_view()),
    path("locations/<int:pk>/ade/<slug:kind>", Exchange.as_view()),
    path("calls", Calls.as_view()),
    path("calls/<int:pk>/defer", call_steps.Defer.as_view()),
    path("calls/<int:pk>/resume", call_steps.Resume.as_view()),
    path("calls/<int:pk>/hand-over", call_steps.HandOver.as_view()),
    path("calls/<int:pk>/advise", call_steps.Advise.as_view()),
    path("calls/<int:pk>/cancel", call_steps.Cancel.as_view()),
    path("calls/<int:pk>/reassess", call_steps.Reassess.as_view()),
    path("calls/<int:pk>/farm", call_steps.SayFarm.as_view()),
    path("visits", Visits.as_view()),
    path("visits/<int:pk>", OneVisit.as_view()),
    path("visits/<int:pk>/reports", Reports.as_view()),
    path("visits/<int:pk>/stand-down", StandDown.as_view()),
    path("visits/<int:pk>/treatments", Treatments.as_view()),
    path("visits/<int:pk>/treatments/check", TreatmentCheck.as_view()),
    path("visits/<int:pk>/procedures", procedures.ProceduresOfVisit.as_view()),
    path("procedures", procedures.Procedures.as_view()),
    path("procedures/<int:pk>", procedures.OneProcedure.as_view()),
    path("procedures/<int:pk>/findings", procedures.Findings.as_view()),
    path("procedures/<int:pk>/consent", procedures.Consent.as_view()),
    path("procedures/<int:pk>/operation", procedures.Operation.as_view()),
    path("procedures/<int:pk>/not-done", procedures.NotDone.as_view()),
    path("procedures/<int:pk>/aftercare", procedures.Aftercare.as_view()),
    path("procedures/<int:pk>/outcome", procedures.OutcomeOf.as_view()),
    path("withdrawals", Withdrawals.as_view()),
    path("withdrawals/<int:pk>/set", SetWithdrawal.as_view()),
    path("rechecks", Rechecks.as_view()),
    path("rechecks/<int:pk>/result", recheck_steps.RecheckResult.as_view()),
    path("rechecks/<int:pk>/attempts", recheck_steps.RecheckAttempts.as_view()),
    path("rechecks/<int:pk>/answers", recheck_steps.RecheckAnswers.as_view()),
    path("rechecks/<int:pk>/end", recheck_steps.RecheckEnd.as_view()),
    path("rechecks/<int:pk>/animal", recheck_steps.RecheckAnimal.as_view()),
    path("rechecks/<int:pk>/book", recheck_steps.RecheckBook.as_view()),
    path("visits/<int:pk>/events", recheck_steps.VisitEvents.as_view()),
    path("followups", Followups.as_view()),
    path("bookings", Bookings.as_view()),
    path("bookings/<int:pk>/cancel", BookingCancel.as_view()),
]
