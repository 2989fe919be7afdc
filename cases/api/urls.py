"""Addresses of the middle floor."""

from django.urls import path

from cases.api import call_steps
from cases.api.aftercare_steps import RecheckResult, Rechecks, SetWithdrawal, Treatments, Withdrawals
from cases.api.bookings import BookingCancel, Bookings
from cases.api.calls import Calls
from cases.api.catalogue import Complaints, Medicines
from cases.api.farms import Clients, Locations
from cases.api.records import Exchange, MedicineRecord, TreatedAnimals
from cases.api.visits import OneVisit, Reports, StandDown, Visits

urlpatterns = [
    path("complaints", Complaints.as_view()),
    path("medicines", Medicines.as_view()),
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
    path("withdrawals", Withdrawals.as_view()),
    path("withdrawals/<int:pk>/set", SetWithdrawal.as_view()),
    path("rechecks", Rechecks.as_view()),
    path("rechecks/<int:pk>/result", RecheckResult.as_view()),
    path("bookings", Bookings.as_view()),
    path("bookings/<int:pk>/cancel", BookingCancel.as_view()),
]
