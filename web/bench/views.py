"""The bench's pages: a calculator, the room's air, dryers on the scale, chambers by their logs, spools."""

from __future__ import annotations

from collections.abc import Callable

from flask import Blueprint, abort, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as BaseResponse

from scheduler.model.errors import SoaklineError
from scheduler.office import measured as office
from scheduler.office.timers import HUMID_WEEK
from scheduler.physics.climate import HOURS
from scheduler.physics.derive import MaterialLimits, derive
from scheduler.physics.moisture.drying import VACUUM_PA, DryerAir
from scheduler.physics.moisture.polymers import POLYMERS, polymer_of
from scheduler.physics.nonsense import Nonsense
from scheduler.store import KnownDryer, RoomAir
from web.bench import asked, measured
from web.people import who
from web.services import services
from web.shop import Shop

blueprint = Blueprint("bench", __name__, url_prefix="/bench")

#: Weekdays as a sentence has them.
DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
#: A sensor's or chamber's log may have so many bytes: a month of seconds.
MOST_BYTES = 4 * 1024 * 1024


@blueprint.get("")
def ask() -> tuple[str, int]:
    """How long, how hot, how long open: for anyone who asks."""
    found = asked.read(request.args)
    known = [*POLYMERS, *(f"{name}-{end}" for name in ("PA6", "PA12", "PPS", "PEEK") for end in ("CF", "GF"))]
    page = render_template(
        "bench/ask.html", asked=found, fields=asked.FIELDS, hints=asked.HINTS, known=sorted(known)
    )
    return page, 422 if found.message or found.wrong else 200


@blueprint.get("/spools")
def spools() -> str:
    """The moisture of every spool now and at its next print."""
    shop = _shop()
    return render_template(
        "bench/spools.html", shop=shop, wet=measured.wet_spools(services(), shop), most=measured.LISTED
    )


@blueprint.get("/air")
def air() -> str:
    """The room's humidity, and what it does to the plan."""
    return _air(_shop())


@blueprint.post("/air")
def store_air() -> BaseResponse | tuple[str, int]:
    """Record the room's humidity by the hour."""
    here, shop = services(), _shop()
    texts = [request.form.get(f"hour-{hour}", "") for hour in range(HOURS)]
    wrong = {}
    figures = []
    for hour, text in enumerate(texts):
        try:
            figures.append(float(text.replace(",", ".")))
        except ValueError:
            wrong[f"hour-{hour}"] = [f"{text!r} is no number of %"]
    if wrong:
        return _air(shop, texts, wrong), 422
    room = RoomAir(tuple(figures), "model" in request.form, "longer" in request.form)
    try:
        office.record_room_air(here.record, here.clock, room, who())
    except Nonsense as nonsense:
        return _air(shop, texts, {}, [str(nonsense)]), 422
    flash("The room's air is recorded. Plan again to make use of it.", "done")
    return redirect(url_for("bench.air"), 303)


@blueprint.post("/air/readings")
def store_readings() -> BaseResponse | tuple[str, int]:
    """Record a sensor's CSV."""
    here, shop = services(), _shop()
    try:
        text, name = _file("log")
        count = office.record_readings(here.record, here.clock, text, name, who())
    except SoaklineError as error:
        return _air(shop, messages=str(error).splitlines()), 422
    flash(f"{count} readings are recorded.", "done")
    return redirect(url_for("bench.air"), 303)


@blueprint.get("/dryers/<path:id>")
def dryer(id: str) -> str:
    """A dryer's air and its weighings."""
    return _dryer(_shop(), id)


@blueprint.post("/dryers/<path:id>/air")
def store_dryer_air(id: str) -> BaseResponse | tuple[str, int]:
    """Record what is known of a dryer's air."""
    here, shop = services(), _shop()

    def store() -> None:
        dew, pressure = (
            _figure("dew", "Dew point", optional=True),
            _figure("pressure", "Pressure", optional=True),
        )
        known = DryerAir(dew_point_c=dew, pressure_pa=VACUUM_PA if pressure is None else pressure)
        office.record_dryer_air(here.record, here.clock, id, known, who())

    return _stored(
        lambda messages: _dryer(shop, id, messages), store, "bench.dryer", id, f"{id}'s air is recorded."
    )


@blueprint.post("/dryers/<path:id>/weighings")
def store_weighing(id: str) -> BaseResponse | tuple[str, int]:
    """Record a weighing, and the dryer's factor that follows from all of them."""
    here, shop = services(), _shop()

    def store() -> None:
        labels = {
            "before": "Before",
            "after": "After",
            "body": "Empty body",
            "temp": "Setpoint",
            "hours": "Hours",
            "stored": "Humidity",
        }
        figures = {name: _figure(name, label) for name, label in labels.items()}
        office.record_weighing(
            here.record,
            here.clock,
            id,
            request.form.get("spool", ""),
            before_g=figures["before"] or 0.0,
            after_g=figures["after"] or 0.0,
            body_g=figures["body"] or 0.0,
            temp_c=figures["temp"] or 0.0,
            hours=figures["hours"] or 0.0,
            stored_pct=figures["stored"] or 0.0,
            who=who(),
        )

    return _stored(
        lambda messages: _dryer(shop, id, messages), store, "bench.dryer", id, "The weighing is recorded."
    )


@blueprint.get("/printers/<path:id>")
def printer(id: str) -> str:
    """A chamber's heating curve, its logs and its reach."""
    return _printer(_shop(), id)


@blueprint.post("/printers/<path:id>")
def store_log(id: str) -> BaseResponse | tuple[str, int]:
    """Fit a log and record the fit."""
    here, shop = services(), _shop()

    def store() -> None:
        text, name = _file("log")
        kind = request.form.get("kind", "heating")
        if kind not in ("heating", "cooling"):
            raise Nonsense(f"a log shows heating or cooling, not {kind!r}")
        office.record_log(
            here.record, here.clock, id, "heating" if kind == "heating" else "cooling", text, name, who()
        )

    return _stored(
        lambda messages: _printer(shop, id, messages),
        store,
        "bench.printer",
        id,
        "The log is fitted and recorded.",
    )


@blueprint.get("/materials/<path:id>")
def material(id: str) -> str:
    """A material's own limit and shortest run."""
    return _material(_shop(), id)


@blueprint.post("/materials/<path:id>")
def store_limits(id: str) -> BaseResponse | tuple[str, int]:
    """Record a material's own limit and shortest run."""
    here, shop = services(), _shop()

    def store() -> None:
        limits = MaterialLimits(
            _figure("limit", "Limit", optional=True),
            _figure("floor", "Shortest run") or 0.0,
            _figure("thickest", "Thickest section", optional=True),
            _figure("apart", "Middle and skin") or 0.0,
            _figure("plate", "Glass plate", optional=True),
        )
        office.record_limits(here.record, here.clock, id, limits, who())

    return _stored(
        lambda messages: _material(shop, id, messages),
        store,
        "bench.material",
        id,
        f"{id}'s limits are recorded.",
    )


def _shop() -> Shop:
    shop = services().shop()
    if shop is None:
        abort(404, "No shop is recorded yet.")
    return shop


def _stored(
    again: Callable[[list[str]], str], store: Callable[[], None], endpoint: str, id: str, done: str
) -> BaseResponse | tuple[str, int]:
    try:
        store()
    except SoaklineError as error:
        return again(str(error).splitlines()), 422
    flash(done, "done")
    return redirect(url_for(endpoint, id=id), 303)


def _figure(name: str, label: str, *, optional: bool = False) -> float | None:
    text = request.form.get(name, "").strip().replace(",", ".").replace("−", "-")
    if not text and optional:
        return None
    try:
        return float(text)
    except ValueError:
        raise Nonsense(f"{label}: {text!r} is no number") from None


def _file(name: str) -> tuple[str, str]:
    file = request.files.get(name)
    if file is None or not file.filename:
        raise Nonsense("no file was chosen")
    data = file.read(MOST_BYTES + 1)
    if len(data) > MOST_BYTES:
        raise Nonsense(
            f"{file.filename} is larger than {MOST_BYTES // 1024 // 1024} MB; cut it to one heat-up"
        )
    return data.decode("utf-8-sig", "replace"), file.filename


def _air(
    shop: Shop, texts: list[str] | None = None, wrong: object = None, messages: list[str] | None = None
) -> str:
    here = services()
    now = here.clock()
    with here.record.reading() as unit:
        room, readings = unit.water.room_air(), unit.water.readings(500)
        around = office.surroundings(unit, shop.scenario, now)
        looked, timer = unit.water.humid_check(), unit.timers.get(HUMID_WEEK.name)
    today, humid = measured.humid_week(here, shop)
    return render_template(
        "bench/air.html",
        shop=shop,
        room=room,
        texts=texts or [f"{each:g}" for each in room.by_hour_pct],
        wrong=wrong or {},
        messages=messages or [],
        readings=readings,
        looked=looked,
        timer=timer,
        looked_on=f"{DAYS[HUMID_WEEK.weekday]} at {HUMID_WEEK.hour:02d}:00",
        today=today,
        humid=humid,
        notes=derive(shop.scenario, around).notes,
    )


def _dryer(shop: Shop, id: str, messages: list[str] | None = None) -> str:
    found = next((each for each in shop.scenario.dryers if each.id == id), None)
    if found is None:
        abort(404, f"There is no dryer {id}.")
    with services().record.reading() as unit:
        known, weighings = unit.water.dryers().get(id, KnownDryer()), unit.water.weighings(id)
    return render_template(
        "bench/dryer.html",
        shop=shop,
        dryer=found,
        known=known,
        weighings=weighings,
        messages=messages or [],
        form=request.form,
    )


def _printer(shop: Shop, id: str, messages: list[str] | None = None) -> str:
    found = shop.printers.get(id)
    if found is None:
        abort(404, f"There is no machine {id}.")
    heat = measured.heat_of(services(), shop, found)
    return render_template("bench/printer.html", shop=shop, printer=found, heat=heat, messages=messages or [])


def _material(shop: Shop, id: str, messages: list[str] | None = None) -> str:
    found = shop.materials.get(id)
    if found is None:
        abort(404, f"There is no material {id}.")
    with services().record.reading() as unit:
        limits = unit.water.limits().get(id, MaterialLimits())
    return render_template(
        "bench/material.html",
        material=found,
        polymer=polymer_of(found),
        limits=limits,
        messages=messages or [],
        form=request.form,
    )
