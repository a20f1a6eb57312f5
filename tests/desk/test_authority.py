"""The table of authority at the desk: every act asks it, with the acting person's own role and authorities."""

from collections.abc import Callable
from datetime import timedelta

import pytest

from refstd.base.errors import NotAllowed, Refusal
from refstd.desk import (
    baselines,
    certificates,
    checkpoints,
    checks,
    custody,
    equipment,
    events,
    findings,
    issuing,
    jobs,
    lost,
    lots,
    people,
    procedure_entry,
    reservations,
    schedules,
    setups,
    tolerances,
)
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.items import register
from refstd.desk.store import Lab, about, backup, open_store, restore
from refstd.rules.authority import PERMISSIONS
from tests import thin_thread as given
from tests.given import KEEPER, NOON

NOW = NOON + timedelta(hours=1)
PERSONS = {KEEPER: "custodian", "TESS": "technician", "AUDE": "auditor"}
ITEM = {
    "asset_no": "P-9",
    "name": "pencil",
    "form": "pencil",
    "circuit": "bridge",
    "coils": "absolute",
    "connector": "four-pin",
}
ITEM |= {"lowest_khz": "50", "highest_khz": "500"}
MATERIAL = {"code": "X", "name": "x", "family": "x", "magnetic_class": "non-magnetic", "source": "x"}
PAPER = {"asset_no": "I-1", "number": "K-9", "laboratory": "x", "performed_on": "2031-01-01"}
PLAN = {"asset_no": "P-1", "activity": "inspection", "every_days": "9", "source": "x"}
TOLERANCE = {"asset_no": "B-1", "notch": "1.0 mm", "lower_limit": "0.9", "source": "x"}
JOB = {"number": "J-9", "procedure": "PR-1", "parts": "x", "material": "AL", "form": "plate", "frequency_khz": "150"}
JOB |= {"starts_on": "2031-03-14", "ends_on": "2031-03-15"}
SETUP = {
    "instrument": "I-1",
    "probe": "P-1",
    "block": "B-1",
    "frequency_khz": "100",
    "unit": "div",
    "measure": "vertical from balance",
}
FINDING = {"cause": "other", "says": "x", "item": "B-1"}
PERSON = {"code": "NEW", "name": "x", "role": "technician"}
GRANT = {"person": "TESS", "authority": "level 2", "granted_on": "2031-01-01", "why": "x"}
PROCEDURE = {
    "code": "PR-9",
    "issue": "A",
    "title": "x",
    "approved_on_paper_by": "LENA",
    "form": "plate",
    "lowest_khz": "1",
    "highest_khz": "9",
}
PROCEDURE |= {"frequency_paragraph": "x", "tell": "x"}
EVENT = {"asset_no": "P-1", "event": "knocked"}
LOT = {"job": "J-1", "start_check": "C-0001", "parts": "panel 4"}

Act = Callable[[Lab, str], object]
ACTS: dict[str, tuple[str, Act]] = {
    "enter an item": ("keep the register", lambda lab, by: equipment.enter_item(lab, draft(equipment.ProbeDraft, ITEM, "x"), by=by, now=NOW)),
    "enter a material": (
        "keep the register", lambda lab, by: equipment.enter_material(lab, draft(equipment.MaterialDraft, MATERIAL, "x"), by=by, now=NOW),
    ),
    "store an item": ("change a state", lambda lab, by: equipment.set_state(lab, "P-1", "stored", "x", by=by, now=NOW)),
    "quarantine an item": ("quarantine", lambda lab, by: equipment.set_state(lab, "P-1", "quarantined", "x", by=by, now=NOW)),
    "set a schedule": ("keep schedules", lambda lab, by: schedules.set_schedule(lab, draft(schedules.ScheduleDraft, PLAN, "x"), by=by, now=NOW)),
    "set a tolerance": (
        "set a tolerance", lambda lab, by: tolerances.set_tolerance(lab, draft(tolerances.ToleranceDraft, TOLERANCE, "x"), by=by, now=NOW),
    ),
    "file a certificate": (
        "file a certificate",
        lambda lab, by: certificates.file_certificate(lab, draft(certificates.CertificateDraft, PAPER, "x"), by=by, now=NOW),
    ),
    "withdraw a certificate": (
        "file a certificate", lambda lab, by: certificates.withdraw_certificate(lab, "I-1", "K-I-1", "x", by=by, now=NOW),
    ),
    "enter a person": ("keep people", lambda lab, by: people.enter_person(lab, draft(people.PersonDraft, PERSON, "x"), by=by, now=NOW)),
    "grant an authority": ("keep people", lambda lab, by: people.grant(lab, draft(people.GrantDraft, GRANT, "x"), by=by, now=NOW)),
    "file a procedure": (
        "file a procedure",
        lambda lab, by: procedure_entry.file_procedure(
            lab, draft(procedure_entry.ProcedureDraft, PROCEDURE, "x"), [draft(procedure_entry.LimitDraft, given.LIMITS[1], "x")], by=by, now=NOW,
        ),
    ),
    "open a job": ("open a job", lambda lab, by: jobs.enter_job(lab, draft(jobs.JobDraft, JOB, "x"), by=by, now=NOW)),
    "close a job": ("open a job", lambda lab, by: lots.close_job(lab, "J-1", "done", by=by, now=NOW)),
    "log a lot": ("log an examined lot", lambda lab, by: lots.log_lot(lab, draft(lots.LotDraft, LOT, "x"), by=by, now=NOW)),
    "record an event": (
        "record an event", lambda lab, by: events.record_event(lab, draft(events.EventDraft, EVENT, "x"), by=by, now=NOW),
    ),
    "make a setup": ("make a setup", lambda lab, by: setups.make_setup(lab, draft(setups.SetupDraft, SETUP, "x"), by=by, now=NOW)),
    "make a check": (
        "make a response check",
        lambda lab, by: checks.record_check(lab, given.check_draft("interim"), given.readings(), by=by, now=NOW),
    ),
    "correct a check": (
        "make a response check", lambda lab, by: checks.correct_check(lab, "C-0001", given.readings(), "x", "TOM", by=by, now=NOW),
    ),
    "check out": ("check out", lambda lab, by: custody.check_out(lab, "J-1", ["P-1"], by=by, now=NOW)),
    "report a loss": (
        "report a loss", lambda lab, by: lost.report_lost(lab, draft(lost.LossDraft, {"asset_no": "P-1", "last_seen": "x"}, "x"), by=by, now=NOW),
    ),
    "reserve": (
        "reserve",
        lambda lab, by: reservations.reserve(lab, draft(reservations.ReservationDraft, {"job": "J-1", "item": "P-1"}, "x"), by=by, now=NOW),
    ),
    "check in": ("check in", lambda lab, by: custody.check_in(lab, ["B-1"], by=by, now=NOW)),
    "open a finding": ("open a finding", lambda lab, by: findings.open_finding(lab, draft(findings.FindingDraft, FINDING, "x"), by=by, now=NOW)),
    "note on a finding": ("open a finding", lambda lab, by: findings.act_on(lab, "F-0001", "note", "x", by=by, now=NOW)),
    "decide a finding": ("decide a finding", lambda lab, by: findings.act_on(lab, "F-0001", "disposition", "x", by=by, now=NOW)),
    "release a finding": ("release a finding", lambda lab, by: findings.act_on(lab, "F-0001", "release", "x", by=by, now=NOW)),
    "issue a report": ("issue a report", lambda lab, by: issuing.issue_report(lab, "due.pdf", b"x", by=by, now=NOW)),
    "make a checkpoint": ("make a checkpoint", lambda lab, by: checkpoints.record_checkpoint(lab, b"1:x\n", None, by=by, now=NOW)),
    "back up": ("back up", lambda lab, by: backup(lab, None, by=by, now=NOW)),
}  # fmt: skip


@pytest.fixture
def busy(lab: Lab) -> Lab:
    """A lab in which each of the acts is possible for somebody: a start check, an item out, a finding by another."""
    given.whole(lab)
    given.check(lab, "start", by="TOM")
    custody.check_out(lab, "J-1", ["B-1"], by="TOM", now=NOON)
    findings.open_finding(lab, draft(findings.FindingDraft, FINDING | {"item": "I-1"}, "x"), by="TOM", now=NOON)
    return lab


@pytest.mark.parametrize("by", PERSONS)
@pytest.mark.parametrize("act", ACTS)
def test_an_act_at_the_desk_is_open_to_exactly_those_whom_the_table_names(busy: Lab, act: str, by: str) -> None:
    """Planted: 'may' struck from withdrawing a certificate; technician and auditor got in."""
    asked, does = ACTS[act]
    before = about(busy, given.when()).head.sequence
    if PERSONS[by] in PERMISSIONS[asked].roles:
        does(busy, by)
        assert about(busy, given.when()).head.sequence == before + 1
        return
    with pytest.raises(NotAllowed):
        does(busy, by)
    assert about(busy, given.when()).head.sequence == before


@pytest.mark.parametrize(
    ("authority", "decides"), [("level 2", False), ("responsible level 3", True), ("quality", True)]
)
def test_a_finding_is_decided_and_released_by_authority_whatever_the_role(
    busy: Lab, authority: str, decides: bool
) -> None:
    people.grant(
        busy, draft(people.GrantDraft, GRANT | {"person": "AUDE", "authority": authority}, "x"), by=KEEPER, now=NOON
    )
    for kind in ("disposition", "release"):
        if decides:
            findings.act_on(busy, "F-0001", kind, "x", by="AUDE", now=NOW)
            continue
        with pytest.raises(NotAllowed):
            findings.act_on(busy, "F-0001", kind, "x", by="AUDE", now=NOW)


@pytest.mark.parametrize(("granted_on", "expires_on", "holds"), [
    ("2031-03-14", "", True), ("2031-03-14", "2031-03-14", True), ("2031-03-01", "2031-03-13", False), ("2031-03-15", "", False),
])  # fmt: skip
def test_an_authority_counts_from_its_first_to_its_last_day(
    busy: Lab, granted_on: str, expires_on: str, holds: bool
) -> None:
    fields = GRANT | {"person": "AUDE", "authority": "quality", "granted_on": granted_on, "expires_on": expires_on}
    people.grant(busy, draft(people.GrantDraft, fields, "x"), by=KEEPER, now=NOON)
    if holds:
        findings.act_on(busy, "F-0001", "release", "x", by="AUDE", now=NOW)
        return
    with pytest.raises(NotAllowed):
        findings.act_on(busy, "F-0001", "release", "x", by="AUDE", now=NOW)


def test_nobody_releases_approves_or_confirms_their_own_work(busy: Lab) -> None:
    for person in ("TESS", "TOM"):
        grant = GRANT | {"person": person, "authority": "responsible level 3"}
        people.grant(busy, draft(people.GrantDraft, grant, "x"), by=KEEPER, now=NOON)
    with pytest.raises(NotAllowed, match="own work"):
        findings.act_on(busy, "F-0001", "release", "x", by="TOM", now=NOW)  # TOM opened it
    with pytest.raises(NotAllowed, match="own work"):
        given.baseline(busy, approved_by="TESS")  # TESS took the readings
    with pytest.raises(NotAllowed, match="own work"):
        checks.correct_check(busy, "C-0001", given.readings(), "x", "TESS", by="TESS", now=NOW)
    assert baselines.baseline_shown(busy, "S-0001", given.when()) is None


def test_a_procedure_is_filed_only_when_a_responsible_level_3_approved_it(busy: Lab) -> None:
    with pytest.raises(NotAllowed):
        given.procedure(busy, "PR-8", approved_on_paper_by="TOM")
    with pytest.raises(Refusal):
        given.procedure(busy, "PR-8", approved_on_paper_by="NOBODY")


def test_who_may_not_back_up_leaves_no_file_and_restores_nothing(busy: Lab) -> None:
    """Planted: the files touched before the person was asked; a technician's restore stood although it was refused."""
    kept, _ = backup(busy, None, by=KEEPER, now=NOW)
    given.block(busy, "B-9")
    files = sorted(kept.parent.iterdir())
    with pytest.raises(NotAllowed):
        backup(busy, None, by="TESS", now=NOW + timedelta(minutes=1))
    path = busy.path
    busy.close()
    with pytest.raises(NotAllowed):
        restore(kept, path, by="TESS", now=NOW + timedelta(minutes=2))
    assert sorted(kept.parent.iterdir()) == files
    again = open_store(path)
    assert "B-9" in {item.asset_no for item in register(again, given.when())}
    again.close()
    restore(kept, path, by="AUDE", now=NOW + timedelta(minutes=3))
    again = open_store(path)
    assert "B-9" not in {item.asset_no for item in register(again, given.when())}
    again.close()
