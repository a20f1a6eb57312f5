"""Things that people record later: every kind of act that could reach back into an old answer."""

from collections.abc import Callable
from datetime import datetime

from refstd.desk import (
    baselines,
    certificates,
    checks,
    custody,
    equipment,
    findings,
    issuing,
    jobs,
    lost,
    lots,
    people,
    procedure_entry,
    setups,
)
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.store import Lab
from tests import thin_thread as given
from tests.given import KEEPER
from tests.reports import small_lab

Act = Callable[[Lab, datetime], object]


def correct_a_check(lab: Lab, now: datetime) -> None:
    checks.correct_check(lab, "C-0016", given.readings(0.95), "8 read as 9", "TOM", by="TESS", now=now)


def supersede_a_certificate(lab: Lab, now: datetime) -> None:
    small_lab.certificate(
        lab, "B-1", "K-B-1-3", now, supersedes="K-B-1-2", why="printed anew", performed_on="2031-02-01", issued_on=""
    )


def withdraw_a_certificate(lab: Lab, now: datetime) -> None:
    certificates.withdraw_certificate(lab, "I-1", "K-I-1", "the laboratory recalled it", by=KEEPER, now=now)


def file_an_older_certificate(lab: Lab, now: datetime) -> None:
    small_lab.certificate(lab, "B-2", "K-B-2-0", now, performed_on="2030-01-10", issued_on="")


def take_a_check(lab: Lab, now: datetime) -> None:
    draft_of_it = given.check_draft("periodic", job="", procedure="PR-1")
    checks.record_check(lab, draft_of_it, given.readings(1.0), by="TOM", now=now)


def fail_a_check(lab: Lab, now: datetime) -> None:
    draft_of_it = given.check_draft("periodic", job="", procedure="PR-1")
    checks.record_check(lab, draft_of_it, given.readings(0.5), by="TOM", now=now)


def read_for_a_check_of_long_ago(lab: Lab, now: datetime) -> None:
    draft_of_it = given.check_draft("periodic", job="", procedure="PR-1", happened_at="2031-04-02T10:00")
    checks.record_check(lab, draft_of_it, given.readings(0.9), by="TOM", now=now)


def replace_the_baseline(lab: Lab, now: datetime) -> None:
    sets = [
        (given.check_draft("set-up", happened_at=f"2031-03-15T09:{i}"), given.readings(k))
        for i, k in ((10, 0.9), (11, 0.91), (12, 0.89))
    ]
    fields = {"setup": "S-0001", "approved_by": "LENA", "why": "new tip"}
    baselines.set_baseline_from_readings(
        lab, draft(baselines.BaselineDraft, fields, "baseline"), sets, by="TESS", now=now
    )


def describe_the_instrument_anew(lab: Lab, now: datetime) -> None:
    fields = {
        "asset_no": "I-1",
        "name": "renamed",
        "lowest_khz": "10",
        "highest_khz": "9000",
        "connector": "eleven-pin",
    }
    equipment.revise_item(
        lab, draft(equipment.InstrumentDraft, fields | {"display_order": "unknown"}, "I-1"), "manual read", by=KEEPER, now=now
    )  # fmt: skip


def measure_a_notch_anew(lab: Lab, now: datetime) -> None:
    fields = {"asset_no": "B-1", "name": "block", "material": "TI", "form": "edge", "thickness_mm": "9"}
    notches = [
        draft(equipment.NotchDraft, {"label": n, "depth_mm": d}, n) for n, d in (("0.5 mm", "0.6"), ("2 mm", "2"))
    ]
    equipment.revise_item(lab, draft(equipment.BlockDraft, fields, "B-1"), "measured", notches, by=KEEPER, now=now)


def change_states(lab: Lab, now: datetime) -> None:
    loss = {"asset_no": "B-2", "last_seen": "in its cabinet, by nobody who remembers"}
    lost.report_lost(lab, draft(lost.LossDraft, loss, "B-2"), by=KEEPER, now=now)
    equipment.set_state(lab, "P-4", "retired", "worn out", by=KEEPER, now=now)


def change_a_schedule(lab: Lab, now: datetime) -> None:
    small_lab.schedule(lab, "B-1", now, every_days="30", why="drifts")


def describe_a_material_anew(lab: Lab, now: datetime) -> None:
    fields = {
        "code": "AL",
        "name": "another",
        "family": "copper alloy",
        "magnetic_class": "non-magnetic",
        "source": "x",
    }
    equipment.enter_material(lab, draft(equipment.MaterialDraft, fields, "AL"), by=KEEPER, now=now)


def file_the_next_procedure_revision(lab: Lab, now: datetime) -> None:
    limits = ({"against": "start check", "lower": "-1", "upper": "1", "unit": "%", "paragraph": "9"},)
    given_now = {
        "code": "PR-2",
        "issue": "Z",
        "title": "anew",
        "approved_on_paper_by": "LENA",
        "form": "plate",
        "tell": "nobody",
    }
    given_now |= {"lowest_khz": "1", "highest_khz": "9999", "frequency_paragraph": "9.9"}
    procedure_entry.file_procedure(
        lab, draft(procedure_entry.ProcedureDraft, given_now, "PR-2"), [draft(procedure_entry.LimitDraft, x, "limit") for x in limits],
        why="revised", by=KEEPER, now=now,
    )  # fmt: skip


def release_the_findings(lab: Lab, now: datetime) -> None:
    findings.act_on(lab, "F-0003", "disposition", "tip replaced", by="LENA", now=now)
    findings.act_on(lab, "F-0001", "release", "lots examined again", by="LENA", now=now)


def open_a_finding(lab: Lab, now: datetime) -> None:
    fields = {"cause": "other", "says": "sticker lost", "item": "B-2"}
    findings.open_finding(lab, draft(findings.FindingDraft, fields, "finding"), by="AUDE", now=now)


def rename_people(lab: Lab, now: datetime) -> None:
    fields = {"code": "TESS", "name": "Renamed", "role": "auditor", "active": "no"}
    people.revise_person(lab, draft(people.PersonDraft, fields, "TESS"), "moved", by=KEEPER, now=now)
    grant = {"person": "TOM", "authority": "level 2", "granted_on": "2030-01-01", "why": "examined"}
    people.grant(lab, draft(people.GrantDraft, grant, "grant"), by=KEEPER, now=now)


def move_equipment(lab: Lab, now: datetime) -> None:
    custody.check_in(lab, ["B-1"], condition="dirty", by="TOM", now=now)


def close_and_open_jobs(lab: Lab, now: datetime) -> None:
    lots.close_job(lab, "J-2", "done", by="TOM", now=now)
    fields = {"number": "J-9", "procedure": "PR-1", "parts": "panel 9", "material": "AL", "form": "plate"}
    fields |= {"frequency_khz": "150", "starts_on": "2031-03-14", "ends_on": "2031-03-20"}
    jobs.enter_job(lab, draft(jobs.JobDraft, fields, "J-9"), by="TOM", now=now)


def enter_more_equipment(lab: Lab, now: datetime) -> None:
    fields = {"asset_no": "P-9", "name": "pencil", "form": "pencil", "circuit": "bridge", "coils": "absolute"}
    fields |= {"lowest_khz": "50", "highest_khz": "500", "connector": "four-pin", "part_no": "EP-4"}
    equipment.enter_item(lab, draft(equipment.ProbeDraft, fields, "P-9"), by=KEEPER, now=now)
    conditions = {"instrument": "I-1", "probe": "P-9", "block": "B-1", "frequency_khz": "100", "unit": "div"}
    conditions |= {"measure": "vertical from balance"}
    setups.make_setup(lab, draft(setups.SetupDraft, conditions, "setup"), by="TOM", now=now)


def issue_a_report(lab: Lab, now: datetime) -> None:
    issuing.issue_report(lab, "due.pdf", b"bytes", by="AUDE", now=now)


ACTS: dict[str, Act] = {
    f.__name__.replace("_", " "): f
    for f in (
        correct_a_check, supersede_a_certificate, withdraw_a_certificate, file_an_older_certificate, take_a_check, fail_a_check,
        read_for_a_check_of_long_ago, replace_the_baseline, describe_the_instrument_anew, measure_a_notch_anew, change_states,
        change_a_schedule, describe_a_material_anew, file_the_next_procedure_revision, release_the_findings, open_a_finding,
        rename_people, move_equipment, close_and_open_jobs, enter_more_equipment, issue_a_report,
    )
}  # fmt: skip
