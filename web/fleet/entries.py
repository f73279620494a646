"""The figures of each kind of thing: their labels, units and places in a scenario file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

How = Literal["text", "number", "optional", "tick", "tags", "choice", "instant"]


@dataclass(frozen=True, slots=True)
class Entry:
    """One figure.

    Parameters
    ----------
    path : str
        Place in the thing's object in a scenario file, dots between: ``"nozzle_c.0"``.
    how : str
        ``"optional"`` is a number that may be left empty; ``"tags"`` are words with commas between.
    options : sequence of pairs
        Value and text of each choice.
    """

    path: str
    label: str
    unit: str = ""
    how: How = "number"
    hint: str = ""
    options: Sequence[tuple[str, str]] = ()


@dataclass(frozen=True, slots=True)
class Rows:
    """A list of small objects, each a row of the form; a row left empty is no row."""

    path: str
    label: str
    entries: tuple[Entry, ...]
    nullable: bool = False
    hint: str = ""


@dataclass(frozen=True, slots=True)
class Section:
    """Figures that belong together.

    ``whole``, if given, is the path of an object that is absent while its fields are empty.
    """

    title: str
    entries: tuple[Entry, ...] = ()
    rows: tuple[Rows, ...] = ()
    whole: str = ""


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of thing: its word, its list in a scenario file, and its figures."""

    word: str
    key: str
    sections: tuple[Section, ...]
    blank: dict[str, object] = field(default_factory=dict)

    @property
    def plural(self) -> str:
        return f"{self.word}s"


def _window(path: str, what: str) -> tuple[Entry, Entry]:
    return Entry(f"{path}.0", f"{what} from", "°C"), Entry(f"{path}.1", f"{what} to", "°C")


DOWNTIME = Rows(
    "downtime",
    "Downtime",
    (
        Entry("start", "From", how="instant"),
        Entry("end", "To", how="instant"),
        Entry("reason", "Reason", how="text"),
    ),
)
DRYING = (
    Entry("temp_c", "Temperature", "°C"),
    Entry("hours", "Hours", "h"),
    Entry("vacuum", "Vacuum", how="tick"),
)


def _head(number: int) -> Section:
    at = f"heads.{number}"
    return Section(
        "First head" if number == 0 else "Second head (leave empty if there is none)",
        (
            Entry(f"{at}.id", "Name", how="text"),
            Entry(f"{at}.max_c", "Hottest hot end", "°C"),
            Entry(f"{at}.filament_mm", "Filament diameter", "mm"),
            Entry(f"{at}.dry_feed", "Spool stands in dry air while mounted", how="tick"),
            Entry(f"{at}.mounted.spool", "Spool mounted now", how="text"),
            Entry(f"{at}.mounted.material", "Material last in it", how="text"),
            Entry(f"{at}.mounted.nozzle", "Nozzle mounted now", how="text"),
        ),
        (
            Rows(
                f"{at}.nozzles",
                "Nozzles",
                (
                    Entry("id", "Name", how="text"),
                    Entry("size_mm", "Bore", "mm"),
                    Entry("max_c", "Stands", "°C"),
                    Entry("hardened", "Hardened", how="tick"),
                    Entry("corrosion_proof", "Corrosion-proof", how="tick"),
                ),
            ),
        ),
        whole=at if number else "",
    )


PRINTER = Kind(
    "printer",
    "printers",
    (
        Section(
            "Machine",
            (
                Entry("id", "Name", how="text"),
                Entry("volume_mm.0", "Volume, width", "mm"),
                Entry("volume_mm.1", "Volume, depth", "mm"),
                Entry("volume_mm.2", "Volume, height", "mm"),
                Entry("surfaces", "Build surfaces", how="tags"),
                Entry("qualified", "Qualified for", how="tags"),
                Entry("speed_factor", "Print minutes per stated minute"),
                Entry("extraction", "Has extraction", how="tick"),
                Entry("unattended", "May heat and print with nobody there", how="tick"),
                Entry("free_at", "Nothing new before", how="instant"),
            ),
            (DOWNTIME,),
        ),
        Section(
            "Heat",
            (
                Entry("bed_max_c", "Hottest plate", "°C"),
                Entry("chamber_max_c", "Hottest chamber", "°C", "optional", "empty: no heated chamber"),
                Entry("chamber_reach_c", "Chamber would reach at full power", "°C", "optional"),
                Entry("chamber_now_c", "Chamber at the plan's start", "°C"),
                Entry("heat_tau_min", "Heating time constant", "min"),
                Entry("cool_tau_min", "Cooling time constant", "min"),
                Entry("bed_heat_min", "Plate heats in", "min"),
                Entry("bed_cool_min", "Plate cools in, at least", "min"),
            ),
        ),
        _head(0),
        _head(1),
    ),
    {"downtime": [], "heads": [{"mounted": {}, "nozzles": []}]},
)

DRYER = Kind(
    "dryer",
    "dryers",
    (
        Section(
            "Dryer",
            (
                Entry("id", "Name", how="text"),
                Entry(
                    "kind",
                    "Kind",
                    how="choice",
                    options=(
                        ("batch", "batch: all spools in and out together"),
                        ("rolling", "rolling: spools come and go"),
                    ),
                ),
                Entry("max_c", "Hottest setpoint", "°C"),
                Entry("fixed_c", "Always at", "°C", "optional", "for a rolling dryer only"),
                Entry("vacuum", "Dries under vacuum", how="tick"),
                Entry("slots", "Places for spools"),
                Entry("warmup_min", "Warms up in", "min"),
            ),
            (DOWNTIME,),
        ),
    ),
    {"downtime": [], "kind": "batch", "warmup_min": 0},
)

OVEN = Kind(
    "oven",
    "ovens",
    (
        Section(
            "Oven",
            (
                Entry("id", "Name", how="text"),
                Entry("max_c", "Hottest setpoint", "°C"),
                Entry("slots", "Jobs at once"),
            ),
            (DOWNTIME,),
        ),
    ),
    {"downtime": []},
)

MATERIAL = Kind(
    "material",
    "materials",
    (
        Section(
            "Material",
            (
                Entry("id", "Name", how="text"),
                Entry("polymer", "Polymer", how="text"),
                Entry(
                    "filled",
                    "Filled with",
                    how="choice",
                    options=(
                        ("", "nothing"),
                        ("carbon", "carbon"),
                        ("glass", "glass"),
                        ("mineral", "mineral"),
                    ),
                ),
                Entry("filament_mm", "Filament diameter", "mm"),
                Entry("abrasive", "Abrasive: asks for a hardened nozzle", how="tick"),
                Entry("corrosive", "Corrosive: asks for a corrosion-proof nozzle", how="tick"),
                Entry("needs_extraction", "Needs extraction", how="tick"),
                Entry("min_nozzle_mm", "Smallest nozzle", "mm"),
            ),
        ),
        Section(
            "Heat",
            (
                *_window("nozzle_c", "Nozzle"),
                *_window("bed_c", "Plate"),
                *_window("chamber_c", "Chamber"),
                Entry("chamber_set_c", "Chamber preferred", "°C"),
                Entry("surfaces", "Build surfaces", how="tags", hint="empty: any"),
                Entry("soak_min", "Soak before the print", "min"),
                Entry("release_c", "Plate is opened at or under", "°C"),
                Entry("max_cool_c_per_min", "Cools no faster than", "°C/min", "optional"),
            ),
        ),
        Section(
            "Water",
            (Entry("open_time_min", "Open time in room air", "min", "optional", "empty: no limit"),),
            (Rows("drying", "Drying recipes, any of which will do", DRYING, hint="none: needs no drying"),),
        ),
        Section(
            "Annealing",
            (
                Entry("anneal.temp_c", "Temperature", "°C", "optional", "both empty: never annealed"),
                Entry("anneal.hours", "Hours", "h", "optional"),
            ),
            whole="anneal",
        ),
    ),
    {"drying": [], "filament_mm": 1.75, "min_nozzle_mm": 0.4},
)

SPOOL = Kind(
    "spool",
    "spools",
    (
        Section(
            "Spool",
            (
                Entry("id", "Name", how="text"),
                Entry("material", "Material", how="text"),
                Entry("lot", "Lot", how="text"),
                Entry("grams", "Filament left", "g"),
                Entry("body_max_c", "Spool body stands", "°C"),
                Entry("certs", "Certificates", how="tags"),
                Entry("available_from", "There from", how="instant"),
            ),
        ),
        Section(
            "Water",
            (
                Entry("dried", "Dried", how="tick"),
                Entry("exposed_min", "In room air since", "min"),
            ),
            (
                Rows(
                    "drying",
                    "Own recipes for its first run",
                    DRYING,
                    nullable=True,
                    hint="none: the material's recipes",
                ),
            ),
        ),
    ),
    {"certs": [], "exposed_min": 0, "drying": None},
)

KINDS = {kind.key: kind for kind in (PRINTER, DRYER, OVEN, MATERIAL, SPOOL)}
