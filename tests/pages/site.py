"""The pages of one practice with something on each of them, and people who are signed in."""

from dataclasses import dataclass
from datetime import timedelta

from django.test import Client

from cases.models import (
    Animal,
    Batch,
    BookedVisit,
    Call,
    Calving,
    FarmContact,
    LabelPeriod,
    MilkCollection,
    OtherHold,
    ProcedureRecord,
    Recheck,
    Ring,
    Sale,
    Telling,
    Visit,
    Withdrawal,
)
from cases.services.calls import defer_call
from cases.services.drive_home import say_if_fit
from dispatch.models import Offer
from dispatch.services.planning import ask_for_plan, plan_practice
from rotas import outbox
from rotas.models import (
    CalendarFeed,
    GatewayKey,
    InboundMessage,
    Member,
    MessageState,
    OutboxMessage,
    Reach,
    RestException,
    RestOwed,
    Role,
)
from rotas.services.calendars import make_calendar
from rotas.services.gateway_keys import make_key
from rotas.services.replies import keep_reply, look_at
from tests.api.herd_examples import calving, gone, hold
from tests.api.world import World
from tests.factories import a_neighbour, an_animal
from tests.message_rows import a_way
from tests.pages.rota_desk import RotaDesk, a_rota_desk
from tests.running.row_counts import row_counts
from tests.told_rows import a_collection, a_contact, a_ring, a_sale, a_telling

DESK = (Role.RECEPTION, Role.MANAGER)
ALL = (*DESK, Role.VET)
UNCOUNTED = ("rotas.GivenAnswer",)  # answers kept for repeats are no part of what is written


def at(member: Member | None) -> Client:
    """Return a browser, signed in where a member is given."""
    client = Client(raise_request_exception=True)
    if member is not None:
        client.force_login(member)
    return client


def rows() -> dict[str, int]:
    """Return the number of rows of every table of ours, histories included."""
    return {label: number for label, number in row_counts().items() if label not in UNCOUNTED}


@dataclass(frozen=True)
class Evening:
    """A practice in which every page has something on it and every form is shown."""

    world: World
    finished: Visit
    blank: Withdrawal
    recheck: Recheck
    visit: Visit
    booking: BookedVisit
    deferred: Call
    farmless: Call
    waiting: Call
    offer: Offer
    owed: RestOwed
    unsent: OutboxMessage
    reply: InboundMessage
    key: GatewayKey
    way: Reach
    feed: CalendarFeed
    rota: RotaDesk
    procedure: ProcedureRecord
    recalled: LabelPeriod
    batch: Batch
    ring: Ring
    telling: Telling
    sale: Sale
    collection: MilkCollection
    contact: FarmContact
    hold: OtherHold
    calving: Calving
    gone: Animal

    def member(self, role: str) -> Member:
        """Return a member who holds that role and no other."""
        world = self.world
        return {Role.RECEPTION: world.desk, Role.VET: world.vet.member, Role.MANAGER: world.manager}[
            Role(role)
        ]

    @property
    def pages(self) -> dict[str, tuple[str, ...]]:
        """The whole pages, and the roles that may open each."""
        day = self.world.practice.local(self.booking.window.lower).date()
        return {
            "/": ALL,
            "/calls/take/": DESK,
            f"/calls/{self.waiting.pk}/": ALL,
            f"/calls/{self.farmless.pk}/": ALL,
            f"/calls/{self.deferred.pk}/": ALL,
            "/mine/": (Role.VET,),
            f"/visits/{self.visit.pk}/": ALL,
            f"/visits/{self.finished.pk}/": ALL,
            f"/book/?day={day}": ALL,
            "/rechecks/": ALL,
            "/rechecks/table/": ALL,
            "/aftercare/": ALL,
            f"/sales/?farm={self.world.farm.pk}": ALL,
            f"/farms/{self.world.farm.pk}/held/": ALL,
            "/medicines/": ALL,
            f"/medicines/{self.world.medicine.pk}/": ALL,
            "/medicines/file/": (Role.MANAGER,),
            f"/farms/{self.finished.location.pk}/medicines/": ALL,
            f"/farms/{self.finished.location.pk}/treated/": ALL,
            "/procedures/": ALL,
            f"/procedures/{self.procedure.pk}/": ALL,
            f"/visits/{self.visit.pk}/procedure/?kind=displaced_abomasum": (Role.VET,),
            "/rota/": ALL,
            "/messages/": ALL,
            "/messages/ways/": ALL,
            f"/messages/secrets/{self.key.pk}/": (Role.MANAGER,),
            "/rota/calendar/": ALL,
            "/rest/": (Role.MANAGER,),
            "/mine/report/": (Role.VET,),
            "/rest/rules/": ALL,
            "/story/": DESK,
            **self.rota.pages,
        }

    @property
    def parts(self) -> dict[str, tuple[str, ...]]:
        """What pages that are open fetch for themselves, and the roles that may."""
        return {
            "/desk/live/": DESK,
            "/map/lines.json": ALL,
            f"/calls/{self.waiting.pk}/live/": ALL,
            f"/calls/{self.waiting.pk}/picked/": DESK,
            "/calls/take/farms/": DESK,
            "/calls/take/complaints/": DESK,
            "/calls/take/questions/": DESK,
            "/mine/live/": (Role.VET,),
            f"/visits/{self.visit.pk}/live/": ALL,
            f"/visits/{self.visit.pk}/drive-home/": ALL,
            "/book/day/": ALL,
            "/rechecks/live/": ALL,
            "/aftercare/live/": ALL,
            "/medicines/formulary.csv": ALL,
            f"/farms/{self.finished.location.pk}/medicines.csv": ALL,
            f"/farms/{self.finished.location.pk}/treated.csv": ALL,
            f"/farms/{self.finished.location.pk}/exchange.json": ALL,
            "/messages/live/": ALL,
            "/rest/table.csv": (Role.MANAGER,),
            "/rest/report.xlsx": (Role.MANAGER,),
            "/rest/report.pdf": (Role.MANAGER,),
            "/mine/report/report.pdf": (Role.VET,),
            **self.rota.parts,
        }

    @property
    def writes(self) -> dict[str, tuple[str, ...]]:
        """Where forms are sent, and the roles that may send them (a vet may not reach each of the rows)."""
        call = f"/calls/{self.waiting.pk}"
        return {
            "/calls/take/": DESK,
            "/calls/take/assessed/": DESK,
            f"{call}/offer/": DESK,
            f"{call}/assign/": DESK,
            f"{call}/defer/": ALL,
            f"{call}/hand-over/": ALL,
            f"{call}/advise/": ALL,
            f"{call}/reassess/": ALL,
            f"{call}/cancel/": ALL,
            f"/calls/{self.deferred.pk}/resume/": ALL,
            f"/calls/{self.farmless.pk}/farm/": ALL,
            f"/offers/{self.offer.pk}/withdraw/": DESK,
            "/mine/feel/": (Role.VET,),
            f"/mine/offers/{self.offer.pk}/accept/": (Role.VET,),
            f"/mine/offers/{self.offer.pk}/decline/": (Role.VET,),
            f"/mine/booked/{self.booking.pk}/": (Role.VET,),
            f"/visits/{self.visit.pk}/report/": ALL,
            f"/visits/{self.finished.pk}/drive/": ALL,
            f"/visits/{self.visit.pk}/treatments/": (Role.VET,),
            f"/visits/{self.visit.pk}/treatments/check/": (Role.VET,),
            f"/withdrawals/{self.blank.pk}/sign/": (Role.VET,),
            "/medicines/": (Role.MANAGER,),
            "/medicines/file/": (Role.MANAGER,),
            "/medicines/file/look/": (Role.MANAGER,),
            "/medicines/starter/": (Role.MANAGER,),
            "/medicines/starter/look/": (Role.MANAGER,),
            f"/medicines/{self.world.medicine.pk}/end/": (Role.MANAGER,),
            f"/medicines/{self.world.medicine.pk}/entries/": (Role.MANAGER,),
            f"/medicines/{self.world.medicine.pk}/batches/": (Role.MANAGER, Role.VET),
            f"/medicines/entries/{self.recalled.pk}/end/": (Role.MANAGER,),
            f"/medicines/entries/{self.recalled.pk}/confirm/": (Role.VET,),
            f"/medicines/batches/{self.batch.pk}/end/": (Role.MANAGER, Role.VET),
            f"/visits/{self.visit.pk}/procedures/": (Role.VET,),
            f"/procedures/{self.procedure.pk}/findings/": (Role.VET,),
            f"/procedures/{self.procedure.pk}/consent/": (Role.VET,),
            f"/procedures/{self.procedure.pk}/operation/": (Role.VET,),
            f"/procedures/{self.procedure.pk}/not-done/": (Role.VET,),
            f"/procedures/{self.procedure.pk}/aftercare/": ALL,
            f"/procedures/{self.procedure.pk}/outcome/": ALL,
            "/book/": ALL,
            f"/book/{self.booking.pk}/cancel/": DESK,
            **{
                f"/rechecks/{self.recheck.pk}/{step}/": ALL
                for step in ("result", "attempt", "answer", "end", "animal", "book", "vet")
            },
            f"/rechecks/visits/{self.finished.pk}/event/": ALL,
            f"/aftercare/rechecks/{self.recheck.pk}/": ALL,
            f"/aftercare/messages/{self.unsent.pk}/again/": DESK,
            f"/aftercare/rings/{self.ring.pk}/tried/": ALL,
            f"/aftercare/rings/{self.ring.pk}/reached/": ALL,
            f"/aftercare/told/{self.telling.pk}/read/": ALL,
            **{
                f"/farms/{self.world.farm.pk}/held/{step}/": ALL
                for step in (
                    "calving",
                    "move",
                    "test",
                    "left",
                    "milking",
                    "arrived",
                    "hold",
                    "same",
                    "calving-wrong",
                    "back",
                )
            },
            f"/pens/{self.world.pen.pk}/identity/": ALL,
            f"/pens/{self.world.pen.pk}/unknown/": ALL,
            f"/treatments/{self.blank.treatment_id}/cancel/": (Role.VET,),
            f"/holds/{self.hold.pk}/end/": (Role.VET,),
            "/sales/": ALL,
            f"/sales/{self.sale.pk}/call-off/": ALL,
            "/sales/collections/": ALL,
            f"/sales/collections/{self.collection.pk}/end/": ALL,
            "/sales/told/": ALL,
            "/sales/contacts/": ALL,
            f"/sales/contacts/{self.contact.pk}/end/": ALL,
            f"/messages/{self.unsent.pk}/again/": ALL,
            f"/messages/{self.unsent.pk}/told/": ALL,
            f"/messages/{self.unsent.pk}/close/": ALL,
            f"/messages/replies/{self.reply.pk}/read/": ALL,
            "/messages/ways/add/": ALL,
            f"/messages/ways/{self.way.pk}/end/": (Role.VET, Role.MANAGER),
            "/messages/secrets/": (Role.MANAGER,),
            f"/messages/secrets/{self.key.pk}/end/": (Role.MANAGER,),
            "/rota/": (Role.MANAGER,),
            f"/rota/{self.world.vet.shifts.in_order()[0].pk}/end/": (Role.MANAGER,),
            "/rota/calendar/": ALL,
            f"/rota/calendar/{self.feed.pk}/revoke/": ALL,
            f"/rest/owed/{self.owed.pk}/": (Role.MANAGER,),
            f"/rest/notes/{self.world.vet.pk}/": (Role.MANAGER,),
            "/mine/report/seen/": (Role.VET,),
            "/rest/rules/": (Role.MANAGER,),
            **self.rota.writes,
        }


def an_evening(world: World) -> Evening:
    """Let things happen through the services until every page shows all of its forms."""
    a_neighbour(world.practice)
    second = world.another_vet(name=f"Second of {world.practice.name}")
    finished = world.visit(vet=second)
    world.report(finished, "on_farm", 90)
    world.treatment(finished)
    recheck = world.rechecks(finished)[0]
    say_if_fit(visit_id=finished.pk, actor=second.member, now=world.now, answer="rest")
    offer = world.offer()
    visit = world.visit(world.call(), world.vet)
    world.report(visit, "on_farm", 20)
    blank = world.treatment(visit, off_label=True, off_label_reason="nothing else works")
    made = Evening(
        world=world,
        finished=finished,
        blank=blank.withdrawals.filter(state="needs_vet")[0],
        recheck=recheck,
        visit=visit,
        booking=world.booking(),
        deferred=_deferred(world),
        farmless=world.call(location_id=None),
        waiting=world.call(),
        offer=offer,
        owed=_owed(world),
        unsent=_unsent(world),
        reply=_reply(world),
        key=make_key(actor=world.manager, now=world.now),
        way=a_way(world.vet.member),
        feed=make_calendar(
            practice=world.practice, vet=world.vet, actor=world.vet.member, now=world.now, used_for="wall"
        )[0],
        rota=a_rota_desk(world, second),
        procedure=world.procedure(finished, done=True),
        recalled=world.recalled_entry(),
        batch=world.batch(),
        telling=a_telling(world),
        ring=a_ring(world),
        sale=a_sale(world),
        collection=a_collection(world),
        contact=a_contact(world),
        hold=OtherHold.objects.get(pk=hold(world)),
        calving=Calving.objects.get(pk=calving(world, an_animal(world.farm))),
        gone=Animal.objects.get(pk=gone(world, an_animal(world.farm))),
    )
    ask_for_plan(world.practice.pk, "the evening is set", now=world.now)
    plan_practice(world.practice.pk, world.now)
    return made


def _reply(world: World) -> InboundMessage:
    row, _ = keep_reply(
        practice=world.practice,
        key="event-1",
        sender="01632 960555",
        text="She is down <again>",
        written_at=world.now,
        now=world.now,
    )
    look_at(inbound_id=row.pk, now=world.now)
    row.refresh_from_db()
    return row


def _deferred(world: World) -> Call:
    call = world.call()
    until = world.now + timedelta(hours=10)
    return defer_call(
        call_id=call.pk, actor=world.vet.member, now=world.now, until=until, reason="the cow is up"
    )


def _unsent(world: World) -> OutboxMessage:
    message = outbox.put(
        practice=world.practice, key="a reminder", address="farm@client.example", subject="Milk from 762",
        body="It may be sold.", not_before=world.now,
    )  # fmt: skip
    message.state, message.last_error = MessageState.FAILED, "the mail server refused the address"
    message.save()
    return message


def _owed(world: World) -> RestOwed:
    now, practice, vet = world.now, world.practice, world.vet
    exception = RestException.objects.create(
        practice=practice, vet=vet, approved_by=world.manager, approved_at=now, rule="SHIFT_END",
        limit_at=now, passed_by_min=30, reason="nobody else", subject="call:1",
    )  # fmt: skip
    return RestOwed.objects.create(
        practice=practice, vet=vet, exception=exception, minutes=30, because="a limit was passed",
        owed_from=now, due_by=now + timedelta(days=1),
    )  # fmt: skip
