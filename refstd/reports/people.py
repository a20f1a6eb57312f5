"""People, their qualifications and their tests of vision, as lists: what stands, and what was corrected."""

from refstd.desk.people import people_in
from refstd.desk.qualifications import qualifications_in, vision_tests_in
from refstd.desk.store import Lab, When
from refstd.printing.sheet import Column, Kind, Sheet
from refstd.reports.heading import headed, instant, text

NOTES = (
    "What stands on record counts on the day of the work; a corrected record stays and counts no longer.",
    "A procedure says what it asks of the one who examines; what it does not ask for stops nobody unless it is on record and past "
    "its last day, or not passed.",
)
_STANDS = (
    Column("corrects", "Corrects", width=8),
    Column("stands", "Stands", width=14),
    Column("why", "Reason of a correction", width=20),
    Column("recorded", "Recorded", Kind.INSTANT, width=13),
)


def people_sheet(lab: Lab, when: When) -> Sheet:
    """Return everybody with role and the authorities held on the day."""
    columns = (
        Column("code", "Code", width=8),
        Column("name", "Name", width=20),
        Column("role", "Role", width=10),
        Column("active", "Works here", width=7),
        Column("authorities", "Authorities held on the day", width=30),
    )
    with lab.look(when) as look:
        rows = [(p.code, p.name, p.role, text(p.active), ", ".join(p.authorities)) for p in people_in(look)]
        return headed(look, "refstd.people/1", "People", columns, rows)


def qualifications_sheet(lab: Lab, when: When) -> Sheet:
    """Return every qualification, newest first, corrected ones too."""
    columns = (
        Column("number", "Number", width=8),
        Column("person", "Person", width=8),
        Column("method", "Method", width=7),
        Column("level", "Level", Kind.NUMBER, width=5),
        Column("sector", "Sector", width=12),
        Column("scheme", "Scheme", width=20),
        Column("certificate_no", "Certificate", width=12),
        Column("authorised_on", "Authorised on", Kind.DATE, width=9),
        Column("expires_on", "Counts to", Kind.DATE, width=9),
        *_STANDS,
    )
    with lab.look(when) as look:
        rows = [
            (
                q.number, q.person, q.method, str(q.level), q.sector, q.scheme, q.certificate_no, text(q.authorised_on),
                text(q.expires_on), q.corrects, _stands(q.superseded_by), q.why, instant(q.happened_at),
            )
            for q in qualifications_in(look)
        ]  # fmt: skip
        return headed(look, "refstd.qualifications/1", "Qualifications", columns, rows, notes=NOTES)


def vision_tests_sheet(lab: Lab, when: When) -> Sheet:
    """Return every test of vision, newest first, corrected ones too."""
    columns = (
        Column("number", "Number", width=8),
        Column("person", "Person", width=8),
        Column("kind", "Test of", width=10),
        Column("tested_on", "Tested on", Kind.DATE, width=9),
        Column("passed", "Passed", width=6),
        Column("result", "Result", width=16),
        Column("expires_on", "Counts to", Kind.DATE, width=9),
        Column("practice", "Written practice", width=20),
        *_STANDS,
    )
    with lab.look(when) as look:
        rows = [
            (
                v.number, v.person, v.kind, text(v.tested_on), text(v.passed), v.result, text(v.expires_on), v.practice, v.corrects,
                _stands(v.superseded_by), v.why, instant(v.happened_at),
            )
            for v in vision_tests_in(look)
        ]  # fmt: skip
        return headed(look, "refstd.vision_tests/1", "Tests of vision", columns, rows, notes=NOTES)


def _stands(superseded_by: str) -> str:
    return f"corrected by {superseded_by}" if superseded_by else "stands"
