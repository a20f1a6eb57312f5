"""An invented lab with half a year behind it: something due, quarantined, away, held, out and late; drift that is flagged."""

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TypeVar

from refstd.desk import (
    baselines,
    certificates,
    checks,
    custody,
    equipment,
    findings,
    jobs,
    lots,
    people,
    procedure_entry,
    schedules,
    setups,
)
from refstd.desk.entry import Draft, draft_or_refuse
from refstd.desk.store import Lab, When, make_store

OPENED = datetime(2025, 9, 1, 8, 0, tzinfo=UTC)
TODAY = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
MATERIAL = {
    "code": "AL7075", "name": "7075-T6", "family": "aluminium alloy", "magnetic_class": "non-magnetic",
    "conductivity_percent_iacs": "32", "source": "certificate of the bar",
}  # fmt: skip
VALUES = (("0.2 mm", "0.212", "0.15", "0.25"), ("0.5 mm", "0.512", "0.45", "0.55"), ("1.0 mm", "1.003", "0.95", "1.05"))
SETTINGS = {
    "rotation_deg": "30", "horizontal_gain_db": "40", "vertical_gain_db": "50", "nulled": "yes", "phase_set": "yes", "noise": "4",
}  # fmt: skip


FREE_TEXT = {
    "name", "note", "location", "owner", "made_by", "part_no", "serial_no", "says", "parts", "zone", "laboratory", "limit_source",
    "source", "why", "title", "tell", "paragraph", "frequency_paragraph", "check_paragraph", "traceability", "label", "notch",
    "number", "family", "issue", "connector",
}  # fmt: skip
D = TypeVar("D", bound=Draft)


class Story:
    """Writes the lab through the desk, a minute an act. `spice` is put behind every free text, past the check at entry:
    what an older or foreign program may have left in a store."""

    def __init__(self, path: Path, spice: str = "") -> None:
        self.instant, self.spice = OPENED, spice
        self.lab: Lab = make_store(
            path, name="Surface lab", time_zone="Europe/Dublin", code="CUS", person="Cora Example", now=OPENED
        )

    def draft(self, kind: type[D], fields: Mapping[str, object]) -> D:
        plain = draft_or_refuse(kind, fields, kind.__name__)
        free = FREE_TEXT - ({"number"} if kind is not certificates.CertificateDraft else set())
        spiced = {n: v + self.spice for n in free if isinstance(v := getattr(plain, n, None), str) and v}
        return plain.model_copy(update=spiced) if self.spice else plain

    def now(self) -> datetime:
        self.instant += timedelta(minutes=1)
        return self.instant

    def wait_until(self, instant: datetime) -> None:
        self.instant = max(self.instant, instant)

    def staff(self) -> None:
        for code, name, role in (
            ("TEC", "Tess", "technician"),
            ("LV3", "Lena", "technician"),
            ("AUD", "Aude", "auditor"),
        ):
            person = self.draft(people.PersonDraft, {"code": code, "name": f"{name} Example", "role": role})
            people.enter_person(self.lab, person, by="CUS", now=self.now())
        held = {"person": "LV3", "authority": "responsible level 3", "granted_on": "2025-01-01", "why": "examined"}
        people.grant(self.lab, self.draft(people.GrantDraft, held), by="CUS", now=self.now())

    def block(self, asset_no: str, name: str = "plate block", labels: tuple[str, ...] = ()) -> None:
        fields = {"asset_no": asset_no, "name": name, "material": "AL7075", "form": "plate", "thickness_mm": "10"}
        depths = dict(zip(labels or ("0.2 mm", "0.5 mm", "1.0 mm"), ("0.2", "0.5", "1.0"), strict=False))
        notches = [
            self.draft(equipment.NotchDraft, {"label": label, "depth_mm": depth, "length_mm": "12"})
            for label, depth in depths.items()
        ]
        item = self.draft(equipment.BlockDraft, fields)
        equipment.enter_item(self.lab, item, notches, by="CUS", now=self.now())

    def item(self, kind: type[equipment.ItemDraft], **fields: str) -> None:
        item = self.draft(kind, fields)
        equipment.enter_item(self.lab, item, by="CUS", now=self.now())

    def calibrated(self, asset_no: str, months: str, values: tuple[tuple[str, str, str, str], ...] = ()) -> None:
        self.owes(asset_no, months)
        head = {
            "asset_no": asset_no, "number": f"K-{asset_no}", "laboratory": "Cal lab", "performed_on": "2025-08-20",
            "decision_rule": "simple",
        }  # fmt: skip
        rows = [
            self.draft(
                certificates.ValueDraft,
                {
                    "notch": notch, "value": value, "expanded_uncertainty": "0.010", "coverage_factor": "2", "lower_limit": low,
                    "upper_limit": high, "limit_source": "drawing 12, note 3",
                },
            )
            for notch, value, low, high in values
        ]  # fmt: skip
        paper = self.draft(certificates.CertificateDraft, head)
        certificates.file_certificate(self.lab, paper, rows, by="CUS", now=self.now())

    def owes(self, asset_no: str, months: str) -> None:
        fields = {
            "asset_no": asset_no,
            "activity": "calibration",
            "every_months": months,
            "source": "written practice 4.2",
        }
        schedules.set_schedule(self.lab, self.draft(schedules.ScheduleDraft, fields), by="CUS", now=self.now())

    def procedure(self) -> None:
        head = {
            "code": "PR-1", "issue": "B", "title": "surface examination of plates", "approved_on_paper_by": "LV3", "form": "plate",
            "lowest_khz": "100", "highest_khz": "200", "frequency_paragraph": "4.1", "check_every_hours": "4",
            "check_paragraph": "6.2", "tell": "the shift lead",
        }  # fmt: skip
        limits = (
            {"against": "target", "lower": "-5", "upper": "5", "unit": "% FSH", "paragraph": "5.3"},
            {"against": "start check", "lower": "-10", "upper": "10", "unit": "%", "paragraph": "6.3"},
        )
        target = {"notch": "1.0 mm", "value": "80", "unit": "% FSH", "paragraph": "5.3"}
        procedure_entry.file_procedure(
            self.lab, self.draft(procedure_entry.ProcedureDraft, head),
            [self.draft(procedure_entry.LimitDraft, x) for x in limits],
            [self.draft(procedure_entry.TargetDraft, target)], by="CUS", now=self.now(),
        )  # fmt: skip

    def setup(self) -> str:
        fields = {
            "instrument": "I-1", "probe": "P-1", "block": "B-1", "frequency_khz": "200", "measure": "horizontal and vertical",
            "unit": "% FSH",
        }  # fmt: skip
        return setups.make_setup(self.lab, self.draft(setups.SetupDraft, fields), by="TEC", now=self.now())[0]

    def readings(self, scale: float) -> list[checks.ReadingDraft]:
        seen = (("1.0 mm", "-18", 80.0), ("0.5 mm", "-12", 40.0))
        return [
            self.draft(checks.ReadingDraft, {"notch": notch, "horizontal": across, "vertical": f"{up * scale:.1f}"})
            for notch, across, up in seen
        ]

    def check(self, setup: str, occasion: str, **more: str) -> checks.CheckDraft:
        fields: dict[str, str] = {"setup": setup, "occasion": occasion, **SETTINGS, **more}
        if "job" not in more:
            fields["procedure"] = "PR-1"
        return self.draft(checks.CheckDraft, fields)

    def record(self, draft: checks.CheckDraft, scale: float) -> checks.CheckVerdict:
        return checks.record_check(self.lab, draft, self.readings(scale), by="TEC", now=self.now())


def build(path: Path, spice: str = "") -> None:
    """Write the busy lab to a new store."""
    story = Story(path, spice)
    story.staff()
    equipment.enter_material(story.lab, story.draft(equipment.MaterialDraft, MATERIAL), by="CUS", now=story.now())
    for n in range(1, 6):
        story.block(f"B-{n}", f"plate block {n}")
    pencil = {
        "name": "pencil", "form": "pencil", "circuit": "bridge", "coils": "absolute", "lowest_khz": "50", "highest_khz": "500",
        "connector": "L4",
    }  # fmt: skip
    for n in (1, 2):
        story.item(equipment.ProbeDraft, asset_no=f"P-{n}", **pencil)
    story.item(
        equipment.InstrumentDraft, asset_no="I-1", name="instrument", lowest_khz="10", highest_khz="10000", connector="L4",
        display_order="rotate-then-scale",
    )  # fmt: skip
    story.calibrated("B-1", "12", VALUES)
    story.calibrated("B-2", "12", (VALUES[0], ("0.5 mm", "0.612", "0.45", "0.55"), VALUES[2]))
    story.calibrated("B-3", "3", VALUES)
    story.calibrated("I-1", "12")
    story.owes("B-4", "12")
    story.procedure()
    setup = story.setup()
    sets = [
        (story.check(setup, "set-up", happened_at=f"2025-09-01T08:0{n}"), story.readings(1 + n * 0.01))
        for n in range(4)
    ]
    frozen = story.draft(baselines.BaselineDraft, {"setup": setup, "approved_by": "LV3"})
    baselines.set_baseline_from_readings(story.lab, frozen, sets, by="TEC", now=story.now())
    _half_a_year(story, setup)
    _a_job_that_fails(story, setup)
    story.lab.close()


def _half_a_year(story: Story, setup: str) -> None:
    """A check a week, each a little lower than the one before; what fails is decided and released."""
    for week in range(1, 21):
        story.wait_until(OPENED + timedelta(days=7 * week))
        story.record(story.check(setup, "periodic"), 1.015 - week * 0.005 + (week % 3 - 1) * 0.004)
    story.wait_until(datetime(2026, 2, 27, 8, 0, tzinfo=UTC))
    story.record(story.check(setup, "periodic"), 0.955)
    for finding in findings.findings(story.lab, When(story.instant), only_open=True):
        findings.act_on(
            story.lab, finding.number, "disposition", "cable changed" + story.spice, by="LV3", now=story.now()
        )
        findings.act_on(story.lab, finding.number, "release", "done" + story.spice, by="LV3", now=story.now())


def _a_job_that_fails(story: Story, setup: str) -> None:
    job = {
        "number": "J-1", "procedure": "PR-1", "parts": "wing panels 5 to 8; wing panels 1 to 4", "material": "AL7075", "form": "plate",
        "frequency_khz": "200", "starts_on": "2026-02-25", "ends_on": "2026-02-28",
    }  # fmt: skip
    jobs.enter_job(story.lab, story.draft(jobs.JobDraft, job), by="TEC", now=story.now())
    custody.check_out(story.lab, "J-1", ["B-1", "P-1", "I-1"], by="TEC", now=story.now())
    start = story.record(story.check(setup, "start", job="J-1"), 0.955)
    lot = {"job": "J-1", "start_check": start.number, "parts": "wing panels 1 to 4"}
    lots.log_lot(story.lab, story.draft(lots.LotDraft, lot), by="TEC", now=story.now())
    story.record(story.check(setup, "interim", job="J-1"), 0.8)
    equipment.set_state(story.lab, "P-2", "quarantined", "tip worn" + story.spice, by="CUS", now=story.now())
    equipment.set_state(
        story.lab,
        "B-5",
        "away at laboratory",
        "sent for calibration" + story.spice,
        location="cal lab" + story.spice,
        by="CUS",
        now=story.now(),
    )
