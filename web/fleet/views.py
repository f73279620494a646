"""Machines, dryers, ovens, materials and spools: lists, single pages, forms."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from flask import Blueprint, abort, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as BaseResponse

from scheduler.model import Spool
from scheduler.model.codec import encode_scenario
from scheduler.office import fleet
from scheduler.office.refused import Refused
from scheduler.store import StaleVersion
from web.bench import measured
from web.fleet import uses
from web.fleet.entries import KINDS, Kind
from web.fleet.forms import SPARE_ROWS, Raw, judge, look, read_form
from web.people import who
from web.services import services
from web.shop import Shop

blueprint = Blueprint("fleet", __name__, url_prefix="/fleet")

SAVE: dict[str, Callable[..., None]] = {
    "printers": fleet.save_printer,
    "dryers": fleet.save_dryer,
    "ovens": fleet.save_oven,
    "materials": fleet.save_material,
    "spools": fleet.save_spool,
}
REMOVE: dict[str, Callable[..., None]] = {
    "printers": fleet.remove_printer,
    "dryers": fleet.remove_dryer,
    "ovens": fleet.remove_oven,
    "materials": fleet.remove_material,
    "spools": fleet.remove_spool,
}


@blueprint.get("")
def index() -> str:
    """Everything that the shop has, in one page of tables."""
    shop = services().shop()
    if shop is None:
        return render_template("fleet/no_shop.html")
    planned: dict[str, int] = {}
    for job in shop.planned.values():
        planned[job.printer] = planned.get(job.printer, 0) + 1
    return render_template(
        "fleet/index.html",
        shop=shop,
        by_heat=uses.by_heat(shop.scenario.printers),
        planned=planned,
        recipes=lambda spool: [recipe for recipe in uses.recipes(shop, spool) if not recipe.against],
    )


@blueprint.get("/<kind>/<path:id>")
def show(kind: str, id: str) -> str:
    """One thing: its figures, what the plan does with it, what suits it."""
    shop, of = _shop(), _kind(kind)
    thing, raw = _thing(shop, of, id)
    more: dict[str, Any] = {}
    if kind == "printers":
        fitting = uses.fitting_jobs(shop, id)
        more = {"week": uses.week_of(shop, id), "fitting": fitting}
        more["heat"] = measured.heat_of(services(), shop, thing)
    elif kind == "dryers":
        more = {"runs": uses.dryer_runs(shop, id)}
    elif kind == "ovens":
        more = {"runs": uses.oven_runs(shop, id)}
    elif kind == "materials":
        spools = [spool for spool in shop.scenario.spools if spool.material == id]
        more = {"suits": uses.suits(shop, thing), "spools": spools}
    else:
        more = {"stays": uses.stays(shop, id), "recipes": uses.recipes(shop, thing), **_water(shop, thing)}
    return render_template("fleet/show.html", shop=shop, kind=of, thing=thing, raw=raw, look=look, **more)


@blueprint.get("/<kind>/new")
def add(kind: str) -> str:
    """An empty form."""
    shop, of = _shop(), _kind(kind)
    return _form(shop, of, None, dict(of.blank))


@blueprint.get("/<kind>/<path:id>/edit")
def edit(kind: str, id: str) -> str:
    """A thing's form."""
    shop, of = _shop(), _kind(kind)
    return _form(shop, of, id, _thing(shop, of, id)[1])


@blueprint.post("/<kind>/new")
def store_new(kind: str) -> BaseResponse | tuple[str, int]:
    """Record a new thing."""
    return _store(_kind(kind), None)


@blueprint.post("/<kind>/<path:id>/edit")
def store(kind: str, id: str) -> BaseResponse | tuple[str, int]:
    """Record a thing's new figures."""
    of = _kind(kind)
    _thing(_shop(), of, id)
    return _store(of, id)


@blueprint.post("/<kind>/<path:id>/remove")
def remove(kind: str, id: str) -> BaseResponse | tuple[str, int]:
    """Take a thing out of the record, unless something still names it."""
    here, of = services(), _kind(kind)
    shop = _shop()
    _, raw = _thing(shop, of, id)
    try:
        REMOVE[kind](here.record, here.clock, id, who())
    except Refused as refused:
        messages = [f"{of.word.capitalize()} {id} is still needed:", *str(refused).splitlines()]
        return _form(shop, of, id, raw, other=messages), 409
    flash(f"{of.word.capitalize()} {id} was taken out of the record.", "done")
    return redirect(url_for("fleet.index"), 303)


def _shop() -> Shop:
    shop = services().shop()
    if shop is None:
        abort(404, "No shop is recorded yet.")
    return shop


def _water(shop: Shop, spool: Spool) -> dict[str, Any]:
    """A spool's moisture and its curve, where anything is known of its polymer."""
    here = services()
    found = measured.spool_course(here, shop, spool)
    if found is None:
        return {"water": None, "offers": []}
    drawing = measured.draw_course(found, spool.id, here.clock(), here.zone())
    return {"water": found, "water_drawing": drawing, "offers": measured.offers(here, shop, spool)}


def _kind(key: str) -> Kind:
    if key not in KINDS:
        abort(404, f"The fleet has no {key}; it has printers, dryers, ovens, materials and spools.")
    return KINDS[key]


def _thing(shop: Shop, kind: Kind, id: str) -> tuple[Any, Raw]:
    things = getattr(shop.scenario, kind.key)
    place = next((place for place, thing in enumerate(things) if thing.id == id), None)
    if place is None:
        abort(404, f"There is no {kind.word} {id}. It may have been taken out of the record.")
    return things[place], _encoded(shop, kind, things[place])


def _encoded(shop: Shop, kind: Kind, thing: Any) -> Raw:
    """A thing as files spell it; a whole shop would take its time."""
    alone: dict[str, Any] = dict.fromkeys(
        ("shifts", "materials", "printers", "dryers", "ovens", "spools", "jobs"), ()
    )
    alone[kind.key] = (thing,)
    found = encode_scenario(replace(shop.scenario, **alone))[kind.key][0]
    assert isinstance(found, dict)
    return found


def _form(
    shop: Shop,
    kind: Kind,
    id: str | None,
    raw: Raw,
    by_field: Any = None,
    other: Any = (),
    seen: int | None = None,
) -> str:
    return render_template(
        "fleet/edit.html",
        shop=shop,
        kind=kind,
        id=id,
        raw=raw,
        look=look,
        spare=SPARE_ROWS,
        by_field=by_field or {},
        other=other,
        seen=shop.version if seen is None else seen,
    )


def _store(kind: Kind, id: str | None) -> BaseResponse | tuple[str, int]:
    here, shop = services(), _shop()
    raw = read_form(kind, request.form, here.zone())
    seen = request.form.get("seen", type=int)
    if seen is None:
        abort(400, "The form does not say which version of the shop it shows; open it anew.")
    if id is not None and raw.get("id") != id:
        wrong = {"id": [f"a {kind.word} keeps its name {id}; add another one instead"]}
        return _form(shop, kind, id, raw, wrong, seen=seen), 422
    judged = judge(shop.scenario, kind, id, raw)
    if judged.scenario is None:
        return _form(shop, kind, id, raw, judged.by_field, judged.other, seen), 422
    thing = next(one for one in getattr(judged.scenario, kind.key) if one.id == raw["id"])
    try:
        SAVE[kind.key](here.record, here.clock, thing, seen=seen, who=who())
    except StaleVersion:
        told = ["Somebody changed the shop while this form was open. Look at your figures and store again."]
        return _form(shop, kind, id, raw, other=told), 409
    except Refused as refused:
        return _form(shop, kind, id, raw, other=str(refused).splitlines(), seen=seen), 422
    flash(f"{kind.word.capitalize()} {thing.id} is recorded. Plan again to make use of it.", "done")
    return redirect(url_for("fleet.show", kind=kind.key, id=thing.id), 303)
