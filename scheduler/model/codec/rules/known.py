"""Ids: given once each, and every one that is named exists."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator
from typing import Any

from scheduler.model.codec.offences import Found, Path, named, path_text, shown
from scheduler.model.codec.rules.lens import Place, child, entries, has_list, name, names


class Everything:
    """Stands for a list that can't be read: any id may be in it."""

    def __contains__(self, item: object) -> bool:
        return True


class Ids:
    """The ids that a file declares, by kind.

    Parameters
    ----------
    raw : object
        A scenario file's value, whatever its parts are.
    """

    def __init__(self, raw: object) -> None:
        self.materials = _ids(raw, "materials")
        self.printers = _ids(raw, "printers")
        self.dryers = _ids(raw, "dryers")
        self.ovens = _ids(raw, "ovens")
        self.spools = _ids(raw, "spools")
        self.jobs = _ids(raw, "jobs")
        self._heads: dict[str, Container[str]] = {}
        self._nozzles: dict[tuple[str, str], Container[str]] = {}
        for _, printer in entries(raw, "printers"):
            printer_id = name(printer, "id")
            if printer_id is not None:
                self._heads[printer_id] = _ids(printer, "heads")
                for _, head in entries(printer, "heads"):
                    head_id = name(head, "id")
                    if head_id is not None:
                        self._nozzles[printer_id, head_id] = _ids(head, "nozzles")

    def heads(self, printer: str | None) -> Container[str]:
        """The heads of a printer; anything if the printer itself isn't known."""
        return self._heads.get(printer or "", Everything())

    def nozzles(self, printer: str | None, head: str | None) -> Container[str]:
        """The nozzles of a head; anything if the head itself isn't known."""
        return self._nozzles.get((printer or "", head or ""), Everything())


def given_twice(found: Iterable[tuple[Path, str]], what: str = "the id") -> Iterator[Found]:
    """An offence for each name that came before."""
    first: dict[str, Path] = {}
    for path, text in found:
        if text in first:
            yield path, f"{what} {named(text)} is given already at {path_text(first[text])}"
        else:
            first[text] = path


def unknown(
    holder: dict[str, Any], key: str, path: Path, known: Container[str], what: str, whose: str = ""
) -> Iterator[Found]:
    """An offence if the id under a key is none of the known."""
    text = name(holder, key)
    if text is not None and text not in known:
        yield (*path, key), f"there is no {what} {named(text)}{whose}"


def unknown_among(
    holder: dict[str, Any], key: str, path: Path, known: Container[str], what: str
) -> Iterator[Found]:
    """An offence for each id of a list that is none of the known, or comes twice."""
    for place, text in names(holder, key, path):
        if text not in known:
            yield place, f"there is no {what} {named(text)}"
    yield from given_twice(names(holder, key, path), f"the {what}")


def ids_at(places: Iterable[Place], key: str = "id") -> Iterator[tuple[Path, str]]:
    """The id of each object, with its place."""
    for path, entry in places:
        text = name(entry, key)
        if text is not None:
            yield (*path, key), text


def feed_choices(holder: dict[str, Any], path: Path, printer: str | None, ids: Ids) -> Iterator[Found]:
    """Heads, nozzles and spools that the feeds of one job on one printer name."""
    on = f" on printer {named(printer)}" if printer else ""
    for place, feed in entries(holder, "feeds", path):
        head = name(feed, "head")
        yield from unknown(feed, "head", place, ids.heads(printer), "head", on)
        of_head = f" for head {named(head)}{on}" if head else on
        yield from unknown(feed, "nozzle", place, ids.nozzles(printer, head), "nozzle", of_head)
        yield from unknown(feed, "spool", place, ids.spools, "spool")


def runs(raw: object, path: Path, ids: Ids) -> Iterator[Found]:
    """Machines, spools and jobs that dryer and oven runs name, and the runs' own ids."""
    for place, run in entries(raw, "dryer_runs", path):
        yield from unknown(run, "dryer", place, ids.dryers, "dryer")
        yield from unknown_among(run, "spools", place, ids.spools, "spool")
    for place, run in entries(raw, "oven_runs", path):
        yield from unknown(run, "oven", place, ids.ovens, "oven")
        yield from unknown_among(run, "jobs", place, ids.jobs, "job")
    for key in ("dryer_runs", "oven_runs"):
        yield from given_twice(ids_at(entries(raw, key, path)))


def scenario_ids(raw: object, ids: Ids) -> Iterator[Found]:
    """Duplicate and unknown ids of a scenario file."""
    for key in ("materials", "printers", "dryers", "ovens", "spools", "jobs"):
        yield from given_twice(ids_at(entries(raw, key)))
    for path, site in child(raw, "site"):
        for place, purge in entries(site, "purges", path):
            yield from unknown(purge, "from", place, ids.materials, "material")
            yield from unknown(purge, "to", place, ids.materials, "material")
        yield from _purges_given_twice(path, site)
    for path, printer in entries(raw, "printers"):
        yield from _printer(path, printer, ids)
    for path, spool in entries(raw, "spools"):
        yield from unknown(spool, "material", path, ids.materials, "material")
    for path, job in entries(raw, "jobs"):
        yield from _job(path, job, ids)
    for path, under_way in child(raw, "under_way"):
        yield from runs(under_way, path, ids)


def _purges_given_twice(path: Path, site: dict[str, Any]) -> Iterator[Found]:
    first: dict[tuple[str, str], Place] = {}
    for place, purge in entries(site, "purges", path):
        source, target = name(purge, "from"), name(purge, "to")
        if source is None or target is None:
            continue
        before, other = first.setdefault((source, target), (place, purge))
        if other.get("min") != purge.get("min"):
            yield (
                (*place, "min"),
                f"{shown(purge.get('min'))} from {named(source)} to {named(target)}, "
                f"yet {shown(other.get('min'))} at {path_text(before)}",
            )


def _printer(path: Path, printer: dict[str, Any], ids: Ids) -> Iterator[Found]:
    yield from given_twice(ids_at(entries(printer, "heads", path)))
    for place, head in entries(printer, "heads", path):
        yield from given_twice(ids_at(entries(head, "nozzles", place)))
        for mounted_at, mounted in child(head, "mounted", place):
            yield from unknown(mounted, "spool", mounted_at, ids.spools, "spool")
            yield from unknown(mounted, "material", mounted_at, ids.materials, "material")
            yield from unknown(
                mounted, "nozzle", mounted_at, _ids(head, "nozzles"), "nozzle", " for this head"
            )


def _job(path: Path, job: dict[str, Any], ids: Ids) -> Iterator[Found]:
    yield from unknown(job, "same_lot_as", path, ids.jobs, "job")
    for place, feed in entries(job, "feeds", path):
        yield from unknown(feed, "material", place, ids.materials, "material")
    for place, pin in child(job, "pinned", path):
        yield from unknown(pin, "printer", place, ids.printers, "printer")
    for place, progress in child(job, "progress", path):
        yield from unknown(progress, "printer", place, ids.printers, "printer")
        yield from feed_choices(progress, place, name(progress, "printer"), ids)
        for key in ("head", "spool"):
            yield from given_twice(ids_at(entries(progress, "feeds", place), key), key)


def _ids(holder: object, key: str) -> Container[str]:
    if not has_list(holder, key):
        return Everything()
    return {text for _, text in ids_at(entries(holder, key))}
