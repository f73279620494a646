"""The words that the pages use, each with what it means here. Labels follow them."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Word:
    """One entry; ``key`` is its anchor on the page."""

    word: str
    meaning: str

    @property
    def key(self) -> str:
        return self.word.lower().replace(" ", "-")


@dataclass(frozen=True, slots=True)
class Chapter:
    """Words that belong together."""

    title: str
    words: tuple[Word, ...]


GLOSSARY = (
    Chapter(
        "Work",
        (
            Word("Order", "What a customer wants by a date. It is one job or several."),
            Word("Job", "One plate of an order: printed once, on one printer."),
            Word(
                "Plate", "The surface that a job is printed on, and everything that is printed on it at once."
            ),
            Word("Part", "What the customer gets. A plate can carry several."),
            Word(
                "Feed",
                "One filament of a job. The first is the part; a second is support or a second material.",
            ),
            Word("Release", "Nothing starts for a job before this moment."),
            Word("Due", "When the job should be done, finishing work included."),
            Word("Done", "The end of a job's last step plus its finishing work."),
            Word("Finishing work", "Minutes by hand after the last machine step until a part can go out."),
            Word("Late", "Done after due. Late hours count from one to the other."),
            Word(
                "Weight",
                "What one late hour of a job costs beside one late hour of another. The plan keeps the "
                "sum of late hours times weight small.",
            ),
            Word("Pin", "A job held to one printer and one print start. It is never moved."),
            Word("Under way", "Begun before the plan. It stays where it is; the rest is planned around it."),
            Word(
                "Cannot be made",
                "No machine, spool or oven of this shop suits the job. The reasons are told.",
            ),
            Word("No place", "Something suits the job, but this plan has no room or no filament for it."),
        ),
    ),
    Chapter(
        "Steps on a printer",
        (
            Word("Step", "A stretch of a job on its machine. Six follow one another: changeover to unload."),
            Word(
                "Changeover", "Plate, spool and nozzle changed and the old material purged. Somebody does it."
            ),
            Word("Purge", "Pushing the last material out of a hot end before the next goes in."),
            Word(
                "Preheat",
                "Chamber and plate brought to temperature, then the soak. Nobody needs to be there.",
            ),
            Word("Soak", "Holding everything hot until the whole machine is, before the first layer."),
            Word("Hold", "A preheat that goes on longer than it must, until somebody can start the print."),
            Word("Start", "The first layer, watched by somebody."),
            Word("Print", "From the first layer watched to the last laid down."),
            Word(
                "Cool-down",
                "The chamber falling to where the part lets go; slowly where the material asks for it.",
            ),
            Word(
                "Unload",
                "Taking the part off. Until then the printer is not free, and its spool is still on it.",
            ),
            Word("Setpoint", "The temperature that a chamber, dryer or oven is told to keep."),
            Word("Release temperature", "The chamber at or under which a part may be taken out."),
        ),
    ),
    Chapter(
        "Filament",
        (
            Word("Spool", "One reel of filament: its material, its lot and what is left on it."),
            Word("Spool body", "What the filament is wound on. It softens before some filaments are dry."),
            Word("Lot", "What a maker made in one go. Some jobs must share theirs."),
            Word(
                "Certificate",
                "A tag that came with a lot. The shop keeps track of it; it proves nothing by itself.",
            ),
            Word("Drying run", "Spools together in a dryer, at one setpoint."),
            Word("Dryer, batch", "Loaded, warmed up and emptied as a whole."),
            Word("Dryer, rolling", "Always at one temperature; spools go in and out one by one."),
            Word("Dry", "Out of a drying run, and not exposed longer than the open time."),
            Word("Open time", "How long a dried spool may see room air until the end of its print."),
            Word("Exposure", "How much of the open time a spool has used up."),
            Word("Humidity", "Water in the air as a share of what that air could hold. Warm air holds more."),
            Word("Dew point", "Where air would begin to be wet. Dry air has a low one."),
            Word("Coil factor", "How hard a dryer and a coil make it for water to leave. 1 is the formula."),
            Word("Reserve", "How many times longer a trusted recipe is than the model says it must be."),
            Word("Dry feed", "A head whose spool stands in dry air, so that open time does not run."),
        ),
    ),
    Chapter(
        "Machines and people",
        (
            Word("Head", "What melts and lays down one filament. A printer has one or two."),
            Word("Nozzle", "The tip of a head: its bore, and what its metal stands."),
            Word("Reach", "Where a chamber would end up at full power. It never passes that."),
            Word("Anneal", "Printed parts in an oven, to relieve or crystallise them."),
            Word("Staffed", "At least one person is there."),
            Word(
                "Hands", "How many people are there at once, and so how many steps by hand can run at once."
            ),
            Word("Runs alone", "A machine that may heat and print with nobody in the shop."),
            Word("Out of use", "A stretch in which a machine can do nothing: service, repair, holiday."),
            Word("Qualified for", "Tags of work that a machine may do, such as a customer's approval."),
        ),
    ),
    Chapter(
        "Plans",
        (
            Word("Plan", "A place and a time for every step of every job that has one."),
            Word("Proposal", "A plan that nobody has published yet. The floor does not work to it."),
            Word("Published", "The plan that the floor works to. There is at most one."),
            Word("Freeze window", "Jobs that begin this soon stay as they are when a new plan is made."),
            Word(
                "Late hours", "Weighted late hours of all jobs that something suits: what a plan keeps small."
            ),
            Word("At best", "No plan whatever can have fewer late hours than this."),
            Word("Minutes by hand", "Minutes in which somebody stands at a machine for this plan."),
            Word(
                "Could not be kept",
                "A rule that the rest of a job under way breaks whatever is planned, such as an open time "
                "already spent.",
            ),
        ),
    ),
    Chapter(
        "Quotes",
        (
            Word("Quote", "A customer's request with the date and the price that were offered for it."),
            Word("Promise", "The date told to a customer. It is never sooner than the plan has it done."),
            Word("Chance", "How often dates like this one are kept, as far as the shop's figures tell."),
            Word("Held", "Hours kept in the plan for a quote until a moment; then they are given back."),
            Word("Makes room", "A job with slack that is done later for another, within its promise."),
            Word("Learning", "What the shop's own prints and promises say about the next ones."),
        ),
    ),
)
