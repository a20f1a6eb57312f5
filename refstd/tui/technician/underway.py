"""A response check while it is made: everything typed so far, kept as typed until it is on record."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from refstd.base.errors import Problem
from refstd.desk.certificates import Paper
from refstd.desk.checks import CheckDraft, CheckSheet, ReadingDraft
from refstd.desk.entry import read_draft

FULL_SCREEN = {"f", ">", "≥"}
BOTH = "horizontal and vertical"
SETTINGS = ("rotation_deg", "horizontal_gain_db", "vertical_gain_db")
TEMPERATURES = ("block_temperature_c", "part_temperature_c")
TITLES = {name: field.title or name.replace("_", " ") for name, field in CheckDraft.model_fields.items()}


def said(problems: Sequence[Problem]) -> list[str]:
    """Return problems of a check's fields, each named by the field's title."""
    return [str(replace(p, where=TITLES.get(p.where, p.where))) for p in problems]


@dataclass(frozen=True, slots=True)
class Late:
    """What a back-entry says of its readings beside the readings themselves."""

    read_at: str
    done_by: str
    sheet: Paper | None


@dataclass
class Underway:
    """What was chosen and typed. `job` or `procedure` says what the check is judged by."""

    job: str = ""
    procedure: str = ""
    setup: str = ""
    occasion: str = ""
    cable: str = ""
    adapter: str = ""
    settings: dict[str, str] = field(default_factory=dict)
    nulled: bool = False
    phase_set: bool = False
    noise: str = ""
    temperatures: dict[str, str] = field(default_factory=dict)
    note: str = ""
    remedy: str = ""
    read_at: str = ""  # of what was read earlier, by whom, and the scan of its paper
    done_by: str = ""
    sheet: Paper | None = None
    gains: dict[str, str] = field(default_factory=dict)  # of the repeat, after the remedy 'gain'

    def values(self, *, repeat: bool = False) -> dict[str, str]:
        """Return the fields of the check, or of its repeat, as typed."""
        typed = {
            "setup": self.setup, "occasion": self.occasion, "job": self.job, "procedure": "" if self.job else self.procedure,
            "cable": self.cable, "adapter": self.adapter, **self.settings, **(self.gains if repeat else {}), "nulled": "yes" if self.nulled else "no",
            "phase_set": "yes" if self.phase_set else "no", "noise": self.noise, **self.temperatures,
            "note": self.note, "remedy": self.remedy, "happened_at": self.read_at, "done_by": self.done_by,
        }  # fmt: skip
        return {k: v for k, v in typed.items() if v}

    def draft(self, *, repeat: bool = False) -> tuple[CheckDraft | None, list[Problem]]:
        """Return the check, or its repeat, as the desk takes it, or its problems."""
        return read_draft(CheckDraft, self.values(repeat=repeat))

    def problems_of(self, *fields: str) -> list[Problem]:
        """Return the problems of some fields only, for the step that asks for them."""
        return [p for p in self.draft()[1] if p.where in fields]


def settings_of(sheet: CheckSheet) -> dict[str, str]:
    """Return the settings to begin from, as text; empty where nothing is on record."""
    if sheet.settings is None:
        return dict.fromkeys(SETTINGS, "")
    return {name: format(value, "f") for name, value in zip(SETTINGS, sheet.settings, strict=True)}


def settings_in_words(settings: Mapping[str, str]) -> str:
    """Return rotation and gains in one line."""
    rotation, horizontal, vertical = (settings.get(name, "") for name in SETTINGS)
    return f"rotation {rotation}°, gain horizontal {horizontal} dB, vertical {vertical} dB"


def reading_of(notch: str, text: str, measure: str) -> ReadingDraft | Problem | None:
    """Return one reading from what was typed, None for a notch that was not read, or the problem.

    '-20 95' is horizontal and vertical; where a setup reads one figure, '95'. 'f' or '>' stands for at least
    full screen.
    """
    form = text.strip()
    if not form:
        return None
    if form.casefold() in FULL_SCREEN:
        return ReadingDraft(notch=notch, full_screen=True)
    names = ("horizontal", "vertical") if measure == BOTH else ("vertical",)
    figures = form.split()
    if len(figures) != len(names):
        wrong = f"{len(figures)} number{'s' if len(figures) != 1 else ''}, this setup reads {measure}"
        how = "Write both with a blank between, such as -20 95" if len(names) == 2 else "Write one number, such as 95"
        return Problem(notch, wrong, f"{how}; f for at least full screen.")
    draft, problems = read_draft(ReadingDraft, {"notch": notch, **dict(zip(names, figures, strict=True))})
    if draft is None:
        return Problem(notch, f"{problems[0].where} {problems[0].wrong}", problems[0].remedy)
    return draft
