"""The form of a request, and the text fields of the price sheet."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal, InvalidOperation
from zoneinfo import ZoneInfo

from scheduler.office.local_time import instant_of
from scheduler.quoting.ask import MOST_LINES, Ask, AskLine, BadAsk
from scheduler.quoting.price import BadSheet, PriceSheet
from web.times import field_value

#: Lines that an empty form has.
FIRST_LINES = 3


def lines_shown(args: Mapping[str, str], ask: Ask | None) -> int:
    """How many lines the form has."""
    least = FIRST_LINES if ask is None else len(ask.lines) + 1
    text = args.get("lines", "")
    wanted = int(text) if text.isascii() and text.isdigit() and len(text) < 4 else 0
    return min(MOST_LINES, max(least, wanted))


def texts_of(ask: Ask, customer: str, contact: str) -> dict[str, str]:
    """A recorded request as the texts of the form, by name."""
    texts = {
        "customer": customer,
        "contact": contact,
        "wanted": field_value(ask.wanted),
        "buy-days": "" if ask.buy_days is None else str(ask.buy_days),
    }
    for n, line in enumerate(ask.lines, 1):
        minutes = round(line.print_min)
        texts |= {
            f"part-{n}": line.part,
            f"quantity-{n}": str(line.quantity),
            f"material-{n}": line.material,
            f"x-{n}": f"{line.size_mm[0]:g}",
            f"y-{n}": f"{line.size_mm[1]:g}",
            f"z-{n}": f"{line.size_mm[2]:g}",
            f"time-{n}": f"{minutes // 60}:{minutes % 60:02d}",
            f"grams-{n}": f"{line.grams:g}",
            f"nozzle-{n}": "; ".join(f"{bore:g}" for bore in line.nozzle_mm),
            f"certs-{n}": "; ".join(line.certs),
            f"qualified-{n}": "; ".join(line.needs_qualified),
            f"anneal-{n}": "yes" if line.anneal else "",
            f"lot-{n}": "yes" if line.one_lot else "",
        }
    return texts


def read_ask(form: Mapping[str, str], zone: ZoneInfo) -> Ask:
    """The request that a form asks for.

    Raises
    ------
    BadAsk
        With everything that can't be read.
    """
    faults: list[str] = []
    lines = []
    for n in range(1, MOST_LINES + 1):
        if any(form.get(f"{name}-{n}", "").strip() for name in ("part", "x", "y", "z", "time", "grams")):
            lines.append(_line(form, n, faults))
    if not lines:
        faults.append("lines: no part is asked for")
    wanted = None
    if form.get("wanted", "").strip():
        try:
            wanted = instant_of(datetime.fromisoformat(form["wanted"].strip()), zone)
        except ValueError as error:
            faults.append(f"wanted: {form['wanted'].strip()!r} {_told(error)}")
    days = form.get("buy-days", "").strip()
    if days and not (days.isascii() and days.isdigit() and len(days) < 4):
        faults.append(f"delivery days: {days!r} is not a whole number of days")
        days = ""
    if faults:
        raise BadAsk("\n".join(faults))
    return Ask(tuple(lines), wanted, int(days) if days else None)


def _line(form: Mapping[str, str], n: int, faults: list[str]) -> AskLine:
    where = f"line {n}"

    def text(name: str) -> str:
        return " ".join(form.get(f"{name}-{n}", "").split())

    def number(name: str, words: str) -> float:
        try:
            found = float(text(name).replace(",", "."))
        except ValueError:
            faults.append(f"{where}: {words} {text(name)!r} is not a number")
            return 1.0
        if found != found or abs(found) > 1e9:
            faults.append(f"{where}: {words} {text(name)!r} is not a number to work with")
            return 1.0
        return found

    quantity = text("quantity") or "1"
    if not (quantity.isascii() and quantity.isdigit() and len(quantity) < 8):
        faults.append(f"{where}: quantity {quantity!r} is not a whole number")
        quantity = "1"
    bores = []
    for bore in _tags(text("nozzle") or "0.4; 0.6"):
        try:
            bores.append(float(bore.replace(",", ".")))
        except ValueError:
            faults.append(f"{where}: nozzle {bore!r} is not a number of millimetres")
    return AskLine(
        part=text("part"),
        quantity=int(quantity),
        material=text("material"),
        size_mm=(number("x", "x"), number("y", "y"), number("z", "z")),
        print_min=_minutes(text("time"), where, faults),
        grams=number("grams", "grams"),
        nozzle_mm=tuple(bores),
        certs=tuple(_tags(text("certs"))),
        needs_qualified=tuple(_tags(text("qualified"))),
        anneal=bool(text("anneal")),
        one_lot=bool(text("lot")),
    )


def _minutes(text: str, where: str, faults: list[str]) -> float:
    hours, colon, minutes = text.partition(":")
    if colon and hours.isascii() and hours.isdigit() and minutes.isascii() and minutes.isdigit():
        if len(hours) < 5 and int(minutes) < 60:
            return 60.0 * int(hours) + int(minutes)
    faults.append(f"{where}: print time {text!r} is not hours:minutes, like 7:30")
    return 1.0


def _tags(text: str) -> list[str]:
    return [tag.strip() for tag in text.split(";") if tag.strip()]


def _told(error: ValueError) -> str:
    words = str(error)
    return "is not a day and a time" if words.startswith("Invalid isoformat") else words


#: Fields of the price sheet: name, label, unit; amounts are written with a point.
AMOUNTS = (
    ("hands_h_cents", "An hour of a person"),
    ("overtime_h_cents", "An hour of overtime, on top of that"),
    ("oven_h_cents", "An hour of a dryer or oven"),
    ("minimum_cents", "Least price of a quote"),
)
FIGURES = (
    ("tax_percent", "Tax", "%"),
    ("waste_percent", "Waste on top of filament", "%"),
    ("purge_g", "Purged at a changeover", "g"),
    ("rush_factor", "Factor where others make room", "×"),
    ("patient_factor", "Factor where the customer gives time", "×"),
)
WHOLE = (
    ("patient_days", "That time", "days"),
    ("office_min", "Before work on a new order can begin", "min"),
    ("valid_days", "An offer stands for", "days"),
)


def sheet_texts(sheet: PriceSheet) -> dict[str, str]:
    """A price sheet as the texts of its form."""
    texts = {"currency": sheet.currency, "tax_name": sheet.tax_name}
    texts |= {name: _amount(getattr(sheet, name)) for name, _ in AMOUNTS}
    texts |= {name: str(getattr(sheet, name)) for name, _, _ in (*FIGURES, *WHOLE)}
    texts["machines"] = "\n".join(
        f"{c}: {_amount(price)}" for c, price in sorted(sheet.machine_h_cents.items())
    )
    texts["materials"] = "\n".join(
        f"{material or 'others'}: {_amount(price)}"
        for material, price in sorted(sheet.material_kg_cents.items())
    )
    return texts


def read_sheet(form: Mapping[str, str]) -> PriceSheet:
    """The price sheet of a form; `BadSheet` with everything that can't be."""
    faults: list[str] = []
    values: dict[str, object] = {
        "currency": form.get("currency", "").strip(),
        "tax_name": form.get("tax_name", "").strip(),
    }
    for name, label in AMOUNTS:
        values[name] = _cents(form.get(name, ""), label, faults)
    for name, label, _ in FIGURES:
        values[name] = _decimal(form.get(name, ""), label, faults)
    for name, label, _ in WHOLE:
        text = form.get(name, "").strip()
        if not (text.isascii() and text.isdigit() and len(text) < 7):
            faults.append(f"{label}: {text!r} is not a whole number")
            text = "1"
        values[name] = int(text)
    machines: dict[int, int] = {}
    for key, text in _pairs(form.get("machines", ""), "Machines", faults):
        if not (key.isascii() and key.isdigit() and len(key) < 5):
            faults.append(f"Machines: {key!r} is not a temperature in whole °C")
            continue
        machines[int(key)] = _cents(text, f"Machines {key}", faults)
    materials = {
        "" if key == "others" else key: _cents(text, f"Filament {key}", faults)
        for key, text in _pairs(form.get("materials", ""), "Filament", faults)
    }
    if faults:
        raise BadSheet("\n".join(faults))
    return PriceSheet(**values, machine_h_cents=machines, material_kg_cents=materials)  # type: ignore[arg-type]  # each was read by its kind above


def _pairs(text: str, what: str, faults: list[str]) -> list[tuple[str, str]]:
    pairs = []
    for line in text.splitlines():
        key, colon, price = line.rpartition(":")
        if not line.strip():
            continue
        if not colon:
            faults.append(f"{what}: the line {line.strip()!r} has no colon before its price")
            continue
        pairs.append((key.strip(), price.strip()))
    return pairs


def _decimal(text: str, label: str, faults: list[str]) -> Decimal:
    try:
        found = Decimal(text.strip().replace(",", "."))
    except InvalidOperation:
        found = Decimal("NaN")
    if not found.is_finite() or abs(found) > 10**9:
        faults.append(f"{label}: {text.strip()!r} is not a number")
        return Decimal(1)
    return found


def _cents(text: str, label: str, faults: list[str]) -> int:
    amount = _decimal(text, label, faults) * 100
    if amount != int(amount):
        faults.append(f"{label}: {text.strip()!r} has parts of a cent")
    return int(amount)


def _amount(amount_cents: int) -> str:
    return f"{amount_cents // 100}.{amount_cents % 100:02d}"
