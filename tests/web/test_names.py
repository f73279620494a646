"""Parts under non-disclosure have names for who takes orders, and for nobody else."""

from __future__ import annotations

import pytest

from scheduler.people import Role
from scheduler.store import Order, Record
from tests.web.conftest import ClientAs
from web.queue.book import MASK

#: The worked example's job A is late, so that the board's lists name it, and so is its bar.
PART = "Bracket of a rival"
CUSTOMER = "Quiet Ltd"


@pytest.fixture
def secret_shop(planned_shop: Record) -> Record:
    """Every part of the shop has a name to be kept, and every order is under non-disclosure."""
    with planned_shop.writing() as unit:
        unit.connection.exec_driver_sql("UPDATE jobs SET part = 'Bracket of a rival'")
        unit.orders.save_all(
            Order(id, customer=CUSTOMER, note="ask Mara", confidential=True)
            for id in {job.order for job in unit.fleet.load().jobs}
        )
    return planned_shop


@pytest.mark.parametrize("role", ["manager", "front_desk"])
def test_the_board_names_parts_for_who_takes_orders(
    client_as: ClientAs, secret_shop: Record, role: Role
) -> None:
    page = client_as(role).get("/?range=all").text
    # In the lists of late jobs, of jobs without a place and of what waits for hands, and on the bars.
    assert page.count(PART) > 10 and MASK not in page


def test_the_board_masks_them_for_operators_whoever_looked_before(
    client_as: ClientAs, secret_shop: Record
) -> None:
    for role, names in (("manager", True), ("operator", False), ("front_desk", True), ("operator", False)):
        page = client_as(role).get("/?range=all").text  # type: ignore[arg-type]  # roles, as spelt above
        assert (PART in page) == names
        assert (MASK in page) != names


@pytest.mark.parametrize("role", ["manager", "operator", "front_desk", "display"])
def test_the_wall_masks_them_whoever_is_signed_in(
    client_as: ClientAs, secret_shop: Record, role: Role
) -> None:
    page = client_as(role).get("/wall").text
    assert PART not in page and CUSTOMER not in page
    assert MASK in page


def test_an_order_keeps_its_names_from_operators(client_as: ClientAs, secret_shop: Record) -> None:
    with secret_shop.reading() as unit:
        job = unit.fleet.load().jobs[0]
    shown = client_as("operator").get(f"/orders/{job.order}").text
    assert PART not in shown and CUSTOMER not in shown and "ask Mara" not in shown
    assert "not shown" in shown
    named = client_as("front_desk").get(f"/orders/{job.order}").text
    assert PART in named and CUSTOMER in named and "ask Mara" in named


def test_who_judges_parts_needs_no_name(client_as: ClientAs, secret_shop: Record) -> None:
    with secret_shop.reading() as unit:
        job = unit.fleet.load().jobs[0]
    shown = client_as("operator").get(f"/floor/judge/{job.id}").text
    assert PART not in shown and "Part under non-disclosure" in shown
    assert PART in client_as("manager").get(f"/floor/judge/{job.id}").text


def test_parts_of_other_orders_keep_their_names(client_as: ClientAs, secret_shop: Record) -> None:
    with secret_shop.writing() as unit:
        order = unit.fleet.load().jobs[0].order
        unit.orders.save_all([Order(order, customer=CUSTOMER)])
    assert PART in client_as("operator").get("/?range=all").text
