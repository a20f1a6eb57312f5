"""A small lab with one of everything that a report has to show, made through the desk alone. All of it is invented."""

from datetime import datetime, timedelta

from refstd.desk import certificates, custody, deferrals, equipment, findings, people, procedure_entry, schedules
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.store import Lab, When
from tests import thin_thread as given
from tests.given import KEEPER, NOON

DAY = 24 * 60  # minutes
FALLING = (1.0, 1.0, 0.99, 0.99, 0.98, 0.97, 0.96, 0.96, 0.95, 0.95)  # of the baseline's amplitude, every nine days
LATER = NOON + timedelta(days=100)
ASKED = When(LATER + timedelta(hours=1))


def build(lab: Lab) -> None:
    """Put the small lab on record, from 14 March to 22 June 2031."""
    given.whole(lab)
    _more_equipment(lab)
    given.baseline(lab)
    for number, scale in enumerate(FALLING, start=1):
        given.check(lab, "periodic", scale, DAY * 9 * number, job="", procedure="PR-1")
    _procedure_that_names(lab)
    given.job(lab, "J-2", starts_on="2031-06-20", ends_on="2031-07-04", procedure="PR-2")
    given.job(lab, "J-3", starts_on="2031-06-20", ends_on="2031-07-04")
    _work(lab)


def _more_equipment(lab: Lab) -> None:
    given.block(lab, "B-2", serial_no="0021", location="cabinet 1")
    given.certified(lab, "B-2", value="0.561")
    given.block(lab, "B-3", material="TI", grade="primary", part_no="TB-3", made_by="the lab's own workshop")
    receipt = {"asset_no": "B-3", "activity": "inspection", "number": "R-B-3", "laboratory": "this lab"}
    receipt |= {"performed_on": "2031-03-10", "result": "sound"}
    certificates.file_certificate(lab, draft(certificates.CertificateDraft, receipt, "R-B-3"), by=KEEPER, now=NOON)
    given.block(lab, "B-4", material="AL", state="quarantined", location="shelf Q")
    given.probe(lab, "P-2", name="high-frequency pencil", lowest_khz="1000", highest_khz="6000")
    given.probe(lab, "P-3", name="pencil", connector="eleven-pin")
    schedule(lab, "P-3", activity="inspection", every_days="90")
    given.probe(lab, "P-4", part_no="EP-4")
    given.instrument(lab, "I-2", serial_no="700", firmware="2.1")
    given.certified(lab, "I-2", "2030-06-10")
    given.instrument(lab, "I-4")
    given.certified(lab, "I-4", "2030-06-22")  # due on the day of the question, and during the job
    given.block(lab, "B-5", form="edge")
    given.instrument(lab, "I-3", state="stored", display_order="unknown")
    given.certified(lab, "I-3", "2030-01-05")  # lapsed on the shelf
    schedule(lab, "P-2", activity="inspection", every_uses="40", use="checks")
    schedule(lab, "P-4", activity="inspection")  # owed once, and done
    for number in ("P-2", "P-4"):
        receipt = {"asset_no": number, "activity": "inspection", "number": f"R-{number}", "laboratory": "this lab"}
        receipt |= {"performed_on": "2031-03-10", "result": "sound"}
        certificates.file_certificate(lab, draft(certificates.CertificateDraft, receipt, number), by=KEEPER, now=NOON)
    _deferred(lab, "B-2", "2032-02-10")
    fields = {"asset_no": "A-1", "name": "adapter", "form": "adapter", "instrument_connector": "four-pin"}
    fields |= {"probe_connector": "eleven-pin", "length_m": "0.2"}
    equipment.enter_item(lab, draft(equipment.AccessoryDraft, fields, "A-1"), by=KEEPER, now=NOON)


def _deferred(lab: Lab, number: str, until: str) -> None:
    """Let somebody with the authority defer a calibration."""
    values = {"code": "QUINN", "name": "Person QUINN", "role": "auditor"}
    people.enter_person(lab, draft(people.PersonDraft, values, "QUINN"), by=KEEPER, now=NOON)
    grant = {"person": "QUINN", "authority": "quality", "granted_on": "2031-01-01", "why": "appointed"}
    people.grant(lab, draft(people.GrantDraft, grant, "grant"), by=KEEPER, now=NOON)
    fields = {"asset_no": number, "until": until, "why": "the laboratory has no place before"}
    deferrals.defer(lab, draft(deferrals.DeferralDraft, fields, number), by="QUINN", now=NOON)


def _procedure_that_names(lab: Lab) -> None:
    """File a procedure that names its probe by part number and states a band of conductivity."""
    fields = {
        "code": "PR-2",
        "issue": "1",
        "title": "surface cracks, second",
        "approved_on_paper_by": "LENA",
        "form": "plate",
    }
    fields |= {
        "lowest_khz": "100",
        "highest_khz": "500",
        "frequency_paragraph": "4.2",
        "tell": "the responsible level 3",
    }
    fields |= {"conductivity_band_percent_iacs": "5", "conductivity_paragraph": "4.3"}
    limit = {"against": "start check", "lower": "-2", "upper": "2", "unit": "dB", "paragraph": "6.3"}
    named = [{"kind": "probe", "part_no": "EP-4", "paragraph": "3.1"}]
    named += [{"kind": "probe", "part_no": "EP-5", "standing": "alternate", "paragraph": "3.1"}]
    procedure_entry.file_procedure(
        lab, draft(procedure_entry.ProcedureDraft, fields, "PR-2"), [draft(procedure_entry.LimitDraft, limit, "limit")],
        named_items=[draft(procedure_entry.NamedItemDraft, n, "named") for n in named], by=KEEPER, now=NOON,
    )  # fmt: skip


def _work(lab: Lab) -> None:
    """A job in June: kit out, a start check, a failed end check with its holds, looked at twice more, the kit back; then a paper corrected."""
    day = LATER - timedelta(days=1)
    custody.check_out(lab, "J-3", ["B-1", "P-1", "I-1"], by="TESS", now=day)
    minutes = DAY * 99
    start = given.check(lab, "start", 0.94, minutes + 10, job="J-3")
    given.lot(lab, start.number, "holes 1 to 9", minutes + 20, job="J-3")
    given.check(lab, "end", 0.75, minutes + 30, job="J-3")
    given.check(lab, "periodic", 0.75, minutes + 40, job="", procedure="PR-1")
    given.check(lab, "periodic", 0.75, minutes + 50, job="", procedure="PR-1")
    findings.act_on(lab, "F-0001", "disposition", "examine holes 1 to 9 again", by="LENA", now=day + timedelta(hours=2))
    custody.check_in(lab, ["P-1"], sound=False, condition="tip worn", by="TESS", now=day + timedelta(hours=3))
    custody.check_in(lab, ["I-1"], by="TESS", now=day + timedelta(hours=3))
    certificate(lab, "B-1", "K-B-1-2", day + timedelta(hours=4), supersedes="K-B-1", why="a depth was misread")


def schedule(lab: Lab, number: str, now: datetime = NOON, **values: str) -> None:
    """Give an item a duty."""
    fields = {"asset_no": number, "activity": "calibration", "source": "written practice 4.2"} | values
    schedules.set_schedule(lab, draft(schedules.ScheduleDraft, fields, number), by=KEEPER, now=now)


def certificate(
    lab: Lab, asset_no: str, number: str, now: datetime, *, supersedes: str = "", why: str = "", **paper: str
) -> None:
    """File a full calibration certificate with as-found and as-left depths and a paper."""
    fields = {"asset_no": asset_no, "number": number, "laboratory": "Depth laboratory", "performed_on": "2031-01-10"}
    fields |= {"accreditation": "CAL 0000", "issued_on": "2031-01-14", "method": "replica, optical profile"}
    fields |= {
        "place": "middle of the notch",
        "temperature_c": "20.4",
        "traceability": "step height standard 3, certificate S-7",
    }
    fields |= {
        "adjusted": "yes",
        "adjustment": "burr removed",
        "decision_rule": "iso 14253-1",
        "result": "sound",
    } | paper
    value = {"notch": "0.5 mm", "expanded_uncertainty": "0.010", "coverage_factor": "2.00", "lower_limit": "0.450"}
    value |= {"upper_limit": "0.550", "limit_source": "drawing 7"}
    values = [
        draft(certificates.ValueDraft, value | {"stage": "as found", "value": "0.531"}, "value"),
        draft(certificates.ValueDraft, value | {"stage": "as left", "value": "0.510"}, "value"),
    ]
    content = certificates.Paper("certificate.pdf", b"%PDF-1.7 an invented paper\n")
    certificates.file_certificate(
        lab, draft(certificates.CertificateDraft, fields, number), values, content, supersedes=supersedes, why=why, by=KEEPER, now=now
    )  # fmt: skip
