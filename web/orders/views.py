"""Order pages, the form of a line, and the upload of a sheet."""

from __future__ import annotations

import base64
import binascii
from collections.abc import Iterable, Mapping
from typing import Any, Literal

from flask import Blueprint, Response, abort, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as BaseResponse

from scheduler.office import orders
from scheduler.office.orders import COLUMNS, SheetMessage
from scheduler.office.refused import Refused
from scheduler.store import StaleVersion
from web.jobs.standing import stand
from web.orders.form import BY_HEADING, PARTS, YES_NO, name_of, read_line, texts_of
from web.people import may_see_names, who
from web.queue.book import order_head
from web.services import services
from web.shop import Shop

blueprint = Blueprint("orders", __name__)

#: A looked-at sheet up to this size goes back and forth with the page, bytes; a larger one is chosen again.
CARRIED_BYTES = 300_000
#: Lines listed under one heading of the look at a sheet.
LISTED = 60
TYPES = {
    "csv": "text/csv; charset=utf-8",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


@blueprint.get("/orders/new")
def add() -> str:
    """An empty line, of a given order if ``order`` names one."""
    shop = _shop()
    order = request.args.get("order", "")
    texts = {"order": order, "plates": "1", "parts-on-a-plate": "1", "weight": "1", "finish-time": "0:00"}
    if order:
        head = order_head(shop, order)
        texts |= {"customer": head.customer, "note": head.note}
        texts["confidential"] = "yes" if head.confidential else "no"
    return _form(shop, None, texts)


@blueprint.post("/orders/new")
def store_new() -> BaseResponse | tuple[str, int]:
    """Record a new line."""
    here, shop = services(), _shop()
    sheet = read_line(request.form)
    if sheet.messages:
        return _form(shop, None, request.form, sheet.messages), 422
    line = sheet.rows[0].line
    try:
        added = orders.add_order(here.record, here.clock, line, who())
    except Refused as refused:
        return _form(shop, None, request.form, other=_told(refused)), 422
    flash(f"{', '.join(added)} of order {line.order} recorded. Plan again to give it a place.", "done")
    return redirect(url_for("orders.show", order=line.order), 303)


@blueprint.get("/queue/lines/<path:job>")
def edit(job: str) -> str:
    """The form of a recorded job."""
    shop = _shop()
    line = orders.recorded_line(services().record, job)
    if line is None:
        abort(404, f"There is no job {job}. It may have been removed with its order.")
    return _form(shop, job, texts_of(line, services().zone()))


@blueprint.post("/queue/lines/<path:job>")
def store(job: str) -> BaseResponse | tuple[str, int]:
    """Record a job's changed line."""
    here, shop = services(), _shop()
    seen = request.form.get("seen", type=int)
    if seen is None:
        abort(400, "The form does not say which version of the shop it shows; open it anew.")
    sheet = read_line(request.form)
    if sheet.messages:
        return _form(shop, job, request.form, sheet.messages, seen=seen), 422
    line = sheet.rows[0].line
    if line.job != job:
        return _form(shop, job, request.form, other=[f"This is the form of job {job}."], seen=seen), 422
    try:
        orders.edit_order(here.record, here.clock, line, seen=seen, who=who())
    except StaleVersion:
        told = ["Somebody changed the shop while this form was open. Look at it and store again."]
        return _form(shop, job, request.form, other=told), 409
    except Refused as refused:
        return _form(shop, job, request.form, other=_told(refused), seen=seen), 422
    flash(f"Job {job} is changed. Plan again to make it count.", "done")
    return redirect(url_for("jobs.show", id=job), 303)


@blueprint.post("/queue/lines/<path:job>/remove")
def remove(job: str) -> BaseResponse | tuple[str, int]:
    """Take a job back."""
    here, shop = services(), _shop()
    line = orders.recorded_line(here.record, job)
    if line is None:
        abort(404, f"There is no job {job}.")
    try:
        orders.remove_order(here.record, here.clock, job, who())
    except Refused as refused:
        return _form(shop, job, texts_of(line, here.zone()), other=_told(refused)), 409
    flash(f"Job {job} is taken back.", "done")
    return redirect(url_for("queue.show"), 303)


@blueprint.get("/orders/<path:order>")
def show(order: str) -> str:
    """An order: who, when, and how each of its jobs stands."""
    here, shop = services(), _shop()
    jobs = [job for job in shop.scenario.jobs if job.order == order]
    if not jobs:
        abort(404, f"There is no order {order}. It leaves with its last job.")
    stands = [stand(shop, job, here.clock()) for job in jobs]
    ends = [one.planned.done for one in stands if one.planned is not None]
    head = order_head(shop, order)
    return render_template(
        "orders/show.html",
        shop=shop,
        order=order,
        head=head,
        masked=head.confidential and not may_see_names(),
        stands=stands,
        done=max(ends) if len(ends) == len(jobs) else None,
        due=min((job.due for job in jobs if job.due), default=None),
    )


@blueprint.get("/orders/template.<any(csv, xlsx):fmt>")
def template(fmt: Literal["csv", "xlsx"]) -> Response:
    """An order sheet to fill in."""
    name = f"attachment; filename=orders.{fmt}"
    return Response(
        orders.order_template(fmt), content_type=TYPES[fmt], headers={"Content-Disposition": name}
    )


@blueprint.get("/orders/upload")
def upload() -> str:
    """Choose a sheet."""
    return _upload(_shop())


@blueprint.post("/orders/upload")
def look() -> BaseResponse | tuple[str, int] | str:
    """Show what a sheet would change, or store it."""
    here, shop = services(), _shop()
    data, name = _sheet()
    if not data:
        return _upload(shop, "Choose a CSV or XLSX file first."), 422
    sheet = orders.read_orders(data, name)
    if request.form.get("do") != "store":
        changes = orders.preview_orders(here.record, sheet, here.clock)
        carried = base64.b64encode(data).decode() if len(data) <= CARRIED_BYTES else None
        page = render_template(
            "orders/look.html", shop=shop, changes=changes, name=name, carried=carried, listed=LISTED
        )
        return (page, 422) if changes.messages else page
    try:
        made = orders.apply_orders(here.record, here.clock, sheet, who())
    except Refused as refused:
        return _upload(shop, *_told(refused)[:LISTED]), 422
    flash(
        f"{name}: {len(made.added)} jobs added, {len(made.changed)} changed. Plan again to make them count.",
        "done",
    )
    return redirect(url_for("queue.show"), 303)


def _sheet() -> tuple[bytes, str]:
    """The sheet that came with the request: as a file, or carried by the page that showed it."""
    file = request.files.get("sheet")
    if file is not None and file.filename:
        return file.read(), file.filename
    carried = request.form.get("carried", "")
    try:
        return base64.b64decode(carried, validate=True), request.form.get("name", "sheet.csv")
    except (binascii.Error, ValueError):
        abort(400, "The sheet did not come back whole; choose the file again.")


def _shop() -> Shop:
    shop = services().shop()
    if shop is None:
        abort(404, "No shop is recorded yet.")
    return shop


def _told(refused: Refused) -> list[str]:
    return str(refused).splitlines()


def _upload(shop: Shop, *messages: str) -> str:
    return render_template("orders/upload.html", shop=shop, messages=messages, columns=COLUMNS)


def _form(
    shop: Shop,
    job: str | None,
    texts: Mapping[str, str],
    messages: Iterable[SheetMessage] = (),
    other: Iterable[str] = (),
    seen: int | None = None,
) -> str:
    by_field: dict[str, list[str]] = {}
    rest = list(other)
    for message in messages:
        if message.column in BY_HEADING:
            sentence = f"{message.value} {message.text}" if message.value else message.text
            by_field.setdefault(name_of(BY_HEADING[message.column]), []).append(sentence)
        else:
            rest.append(str(message))
    lists: dict[str, Any] = {
        "material": [material.id for material in shop.scenario.materials],
        "second material": [material.id for material in shop.scenario.materials],
        "order": sorted({one.order for one in shop.scenario.jobs}),
    }
    return render_template(
        "orders/form.html",
        shop=shop,
        job=job,
        parts=[(title, [BY_HEADING[heading] for heading in headings]) for title, headings in PARTS],
        name_of=name_of,
        yes_no=YES_NO,
        lists=lists,
        texts=texts,
        by_field=by_field,
        other=rest,
        seen=shop.version if seen is None else seen,
    )
