"""Fifty clients at the same instant over HTTP: one of them has the call, the others are told who."""

import threading
from collections import Counter
from typing import Any

import httpx
from django.utils import timezone
from knox.models import AuthToken

from cases.models import Visit
from rotas.models import AuditLine
from tests.api.world import World

CLIENTS = 50


def test_one_of_fifty_has_the_call(live_site: str) -> None:
    world = World(timezone.now())
    other = world.another_vet(name="Other vet")
    offer = world.offer()
    vet, desk = (f"Token {AuthToken.objects.create(member)[1]}" for member in (world.vet.member, world.desk))
    accept = (f"offers/{offer.pk}/accept", {}, vet)
    assign = (f"calls/{offer.call_id}/assign", {"vet": other.pk, "reason": "nearer"}, desk)
    together = threading.Barrier(CLIENTS)
    answers: list[httpx.Response] = []

    def send(number: int) -> None:
        path, body, token = (accept, assign)[number % 2]
        headers = {"Authorization": token, "Idempotency-Key": f"client-number-{number}"}
        with httpx.Client(base_url=live_site, timeout=60, headers=headers) as client:
            together.wait()
            answers.append(client.post(f"/api/v1/{path}", json=body))

    threads = [threading.Thread(target=send, args=[number]) for number in range(CLIENTS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    visit = Visit.objects.get()
    assert len(answers) == CLIENTS
    assert set(Counter(answer.status_code for answer in answers)) <= {200, 409}
    won: list[Any] = [answer.json() for answer in answers if answer.status_code == 200]
    assert {shown["id"] for shown in won} == {visit.pk}
    lost = [answer.json() for answer in answers if answer.status_code == 409]
    assert all(visit.vet.name in problem["detail"] for problem in lost), lost
    assert AuditLine.objects.filter(verb="visit_accepted").count() == 1
