"""Which printers fit a job and with which heads and nozzles, each distinct set stored once."""

from __future__ import annotations

from scheduler.matching import Assignment, Matcher
from scheduler.model import Printer, Scenario


class Fits:
    """Printers that fit and the ways they do, each distinct set stored once."""

    def __init__(self, scenario: Scenario, matcher: Matcher) -> None:
        self.matcher = matcher
        self.off: list[int] = [0]
        self.printer: list[int] = []
        self.way_set: list[int] = []
        self.way_off: list[int] = [0]
        self.head: list[int] = []
        self.nozzle: list[int] = []
        self._sets: dict[tuple[tuple[int, int], ...], int] = {}
        self._rows: dict[tuple[tuple[int, int], ...], int] = {}
        self._ways: dict[tuple[tuple[int, int], ...], int] = {}
        self._seen: dict[tuple[int, ...], int] = {}
        self._members: dict[int, list[int]] = {}
        self._sample: dict[int, Printer] = {}
        for at, printer in enumerate(scenario.printers):
            kind = matcher.printer_class(printer.id)
            self._members.setdefault(kind, []).append(at)
            self._sample.setdefault(kind, printer)
        self._feeds = {job.id: len(job.feeds) for job in scenario.jobs}
        self._answers: dict[tuple[object, ...], int] = {}

    def of(self, job_id: str) -> int:
        """The fit set of a job."""
        kinds, passing = self.matcher.passing(job_id)
        key = (self._feeds[job_id], passing.shape, kinds.tobytes(), passing.tobytes())
        if key not in self._answers:
            self._answers[key] = self._set(
                tuple((kind, self._way_set(job_id, kind)) for kind in kinds.tolist())
            )
        return self._answers[key]

    def known(self, printer: int, way: list[tuple[int, int]]) -> int:
        """The fit set of a job that stays on its printer: this one way, places as `(head, nozzle)`."""
        return self._kept(((printer, self._add_ways([[*way, (0, -1)][:2]])),))

    def _set(self, key: tuple[tuple[int, int], ...]) -> int:
        if key not in self._sets:
            self._sets[key] = self._kept(
                tuple(sorted((p, ways) for kind, ways in key for p in self._members[kind]))
            )
        return self._sets[key]

    def _kept(self, rows: tuple[tuple[int, int], ...]) -> int:
        if rows not in self._rows:
            self._rows[rows] = len(self._rows)
            for p, ways in rows:
                self.printer.append(p)
                self.way_set.append(ways)
            self.off.append(len(self.printer))
        return self._rows[rows]

    def _way_set(self, job_id: str, kind: int) -> int:
        sample = self._sample[kind]
        found = self.matcher.assignments(job_id, sample.id)
        key = (kind, *map(id, found))
        if key not in self._seen:
            self._seen[key] = self._add_ways([self._places(sample, way) for way in found])
        return self._seen[key]

    @staticmethod
    def _places(printer: Printer, way: Assignment) -> list[tuple[int, int]]:
        places = []
        for chosen in way.feeds:
            head = next(i for i, h in enumerate(printer.heads) if h.id == chosen.head)
            nozzle = next(i for i, n in enumerate(printer.heads[head].nozzles) if n.id == chosen.nozzle)
            places.append((head, nozzle))
        return [*places, (0, -1)][:2]

    def _add_ways(self, ways: list[list[tuple[int, int]]]) -> int:
        key = tuple(place for way in ways for place in way)
        if key not in self._ways:
            self._ways[key] = len(self._ways)
            self.head += [head for head, _ in key]
            self.nozzle += [nozzle for _, nozzle in key]
            self.way_off.append(len(self.head) // 2)
        return self._ways[key]
