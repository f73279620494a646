"""The desk's books: the price sheet, and promises beside what became of them."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as BaseResponse

from scheduler.office.quotes import drafts, promises
from scheduler.quoting.price import BadSheet
from web.people import who
from web.quotes import form
from web.quotes.views import blueprint
from web.services import services


@blueprint.get("/quotes/prices")
def prices() -> str:
    """The price sheet."""
    return render_template(
        "quotes/prices.html", texts=form.sheet_texts(drafts.sheet_now(services().record)), **_sheet_fields()
    )


@blueprint.post("/quotes/prices")
def store_prices() -> BaseResponse | tuple[str, int]:
    """Set the price sheet."""
    here = services()
    try:
        drafts.set_sheet(here.record, here.clock, form.read_sheet(request.form), who())
    except BadSheet as error:
        messages = str(error).splitlines()
        page_ = render_template(
            "quotes/prices.html", texts=request.form, messages=messages, **_sheet_fields()
        )
        return page_, 422
    flash("The price sheet is set; offers given before keep their price.", "done")
    return redirect(url_for("quotes.prices"), 303)


@blueprint.get("/quotes/learning")
def learning() -> str:
    """Promised against done, and what prints have taught."""
    here = services()
    return render_template("quotes/learning.html", told=promises.lessons(here.record, here.clock))


@blueprint.post("/quotes/learning/use")
def use() -> BaseResponse:
    """Let dates follow what was learnt, or set it aside."""
    here = services()
    used = request.form.get("used") == "yes"
    promises.use_what_was_learnt(here.record, here.clock, used, who())
    flash(
        "Dates to come follow what was learnt."
        if used
        else "What was learnt is set aside: dates to come stand on estimates and working assumptions.",
        "done",
    )
    return redirect(url_for("quotes.learning"), 303)


@blueprint.post("/quotes/learning/reset")
def reset() -> BaseResponse:
    """Begin anew with learning."""
    here = services()
    promises.begin_anew(here.record, here.clock, who())
    flash("From now on nothing earlier is learnt from; the records stay.", "done")
    return redirect(url_for("quotes.learning"), 303)


def _sheet_fields() -> dict[str, object]:
    return {"amounts": form.AMOUNTS, "figures": form.FIGURES, "wholes": form.WHOLE}
