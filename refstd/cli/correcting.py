"""Correcting what is on record: a new record with the reason takes the old one's place, and both stay."""

import click

from refstd.base.errors import WrongUsage
from refstd.base.text import safe
from refstd.cli.call import Call
from refstd.cli.files import content_of_file
from refstd.cli.group import Act, Answering, Subjects, pass_call
from refstd.cli.happening import correct_event
from refstd.cli.words import check_as_json, write_check


@click.group(
    cls=Subjects, example='refstd correct check C-0042 right.csv --second WREN --why "40 typed for 4.0" --as TAM'
)
def correct() -> None:
    """Correct a check, a certificate, an item, an event, a person, a qualification or a test of vision. The earlier record stays and is shown as corrected."""


correct.add_command(correct_event)


@correct.command(
    "check",
    short_help="Correct the readings of a check.",
    cls=Answering,
    example='refstd correct check C-0042 right.csv --second WREN --why "40 typed for 4.0" --as TAM',
)
@click.argument("number", metavar="CHECK")
@click.argument("readings", metavar="READINGS")
@click.option("--second", required=True, metavar="CODE", help="The second person who confirms the slip.")
@click.option("--why", required=True, help="What the slip was.")
@pass_call
def check(call: Call, number: str, readings: str, second: str, why: str) -> int:
    """Correct the readings of a check. The file has the columns notch, horizontal, vertical; the settings stay.

    Exit code as of `refstd check`. Holds that the first record made stay until they are released.
    """
    from refstd.desk.checks import correct_check
    from refstd.exchange.readings import corrected_readings_from

    name, content = content_of_file(readings)
    new = corrected_readings_from(name, content)
    with call.store() as lab:
        verdict = correct_check(lab, number, new, why, second, by=call.who(), now=call.now(lab))
    if call.json:
        call.show_json({"schema": "refstd.check/1", **check_as_json(verdict), "corrects": number.upper()})
    else:
        call.line(f"corrects check {number.upper()}")
        write_check(call, verdict)
    return verdict.exit_code


@correct.command(
    "certificate",
    short_help="File a certificate anew in an earlier one's place.",
    cls=Act,
    example='refstd correct certificate certificates.csv values.csv --supersedes HM-23-1010 --why "U read from the wrong line" --as ORLA',
)
@click.argument("file", metavar="FILE")
@click.argument("values", metavar="[VALUES]", required=False)
@click.option("--supersedes", required=True, metavar="NUMBER", help="Number of the certificate as filed.")
@click.option("--why", required=True, help="What was wrong.")
@click.option("--paper", default="", metavar="FILE", help="Its paper (PDF, PNG, JPEG or XML).")
@pass_call
def certificate(call: Call, file: str, values: str | None, supersedes: str, why: str, paper: str) -> None:
    """File a certificate anew from a row of certificates.csv (and its rows of values.csv), in an earlier one's place."""
    from refstd.cli.exchanging import file_with_paper

    file_with_paper(call, file, values, paper, supersedes=supersedes, why=why)


@correct.command(
    "withdraw", cls=Act, example='refstd correct withdraw B-102 HM-23-1010 --why "laboratory recalled it" --as ORLA'
)
@click.argument("asset", metavar="ASSET")
@click.argument("number", metavar="CERTIFICATE")
@click.option("--why", required=True, help="Why it counts no longer.")
@pass_call
def withdraw(call: Call, asset: str, number: str, why: str) -> None:
    """Withdraw a certificate: it stays on record and counts no longer."""
    from refstd.desk.certificates import withdraw_certificate

    with call.store() as lab:
        withdraw_certificate(lab, asset, number, why, by=call.who(), now=call.now(lab))
    call.line(f"certificate {number} of {asset.upper()} withdrawn")


@correct.command(
    "item",
    short_help="Describe an item anew.",
    cls=Act,
    example='refstd correct item blocks block.csv notches.csv --why "thickness measured anew" --as ORLA',
)
@click.argument("kind", metavar="KIND")
@click.argument("file", metavar="FILE")
@click.argument("notches", metavar="[NOTCHES]", required=False)
@click.option("--why", required=True, help="Why it is described anew.")
@pass_call
def item(call: Call, kind: str, file: str, notches: str | None, why: str) -> None:
    """Describe an item anew from one row of blocks.csv, probes.csv, instruments.csv or accessories.csv.

    Give every field, also those that stay. Notches that are named get a new description; others keep theirs. The state
    is changed by `refstd state`. Another firmware of an instrument is recorded as the event 'firmware changed' too.
    """
    from refstd.cli.exchanging import one_of_files
    from refstd.desk.equipment import revise_item

    if kind.lower() not in ("blocks", "probes", "instruments", "accessories"):
        raise WrongUsage(
            f"'{safe(kind)[:40]}' is not a kind of equipment", "KIND", "Use blocks, probes, instruments or accessories."
        )
    record = one_of_files((kind.lower(), file), ("notches", notches))
    with call.store() as lab:
        notched = record.parts.get("notches", ())
        findings = revise_item(lab, record.draft, why, notched, by=call.who(), now=call.now(lab))
    call.line(f"{record.draft.asset_no} described anew")
    for number in findings:
        call.line(f"finding {number} says what that leaves in doubt; see `refstd show {number}`")


@correct.command("person", cls=Act, example='refstd correct person WREN --inactive --why "left" --as ORLA')
@click.argument("code", metavar="CODE")
@click.option("--name", default=None, help="New name.")
@click.option("--role", default=None, help="custodian, technician or auditor.")
@click.option("--active/--inactive", default=None, help="Works here, or no longer.")
@click.option("--why", required=True, help="The reason.")
@pass_call
def person(call: Call, code: str, name: str | None, role: str | None, active: bool | None, why: str) -> None:
    """Describe a person anew. What is not given stays as it is."""
    from refstd.desk.entry import draft_or_refuse
    from refstd.desk.people import PersonDraft, actor, revise_person
    from refstd.desk.store import When

    with call.store() as lab:
        now = call.now(lab)
        shown = actor(lab, code, When(now))
        still = shown.active if active is None else active
        values = {
            "code": shown.code,
            "name": name or shown.name,
            "role": role or shown.role,
            "active": "yes" if still else "no",
        }
        draft = draft_or_refuse(PersonDraft, values, f"person {shown.code}")
        revise_person(lab, draft, why, by=call.who(), now=now)
    call.line(f"{draft.code}: {draft.name}, {draft.role}{'' if draft.active else ', no longer here'}")


@correct.command(
    "qualification",
    short_help="Record a qualification anew in an earlier one's place.",
    cls=Act,
    example='refstd correct qualification Q-0002 qualifications.csv --why "authorisation ended" --as ORLA',
)
@click.argument("number", metavar="NUMBER")
@click.argument("file", metavar="FILE")
@click.option("--why", required=True, help="What was wrong, or why it ends before its day.")
@pass_call
def qualification(call: Call, number: str, file: str, why: str) -> None:
    """Record a qualification anew from one row of qualifications.csv. Give every field, also those that stay."""
    from refstd.cli.exchanging import one_of_files
    from refstd.desk.qualifications import correct_qualification

    record = one_of_files(("qualifications", file), ("", None))
    with call.store() as lab:
        new = correct_qualification(lab, number, record.draft, why, by=call.who(), now=call.now(lab))
    call.line(f"qualification {new} takes the place of {number.upper()}")


@correct.command(
    "vision",
    short_help="Record a test of vision anew in an earlier one's place.",
    cls=Act,
    example='refstd correct vision V-0002 vision_tests.csv --why "day misread" --as ORLA',
)
@click.argument("number", metavar="NUMBER")
@click.argument("file", metavar="FILE")
@click.option("--why", required=True, help="What was wrong.")
@pass_call
def vision(call: Call, number: str, file: str, why: str) -> None:
    """Record a test of vision anew from one row of vision_tests.csv. Give every field, also those that stay."""
    from refstd.cli.exchanging import one_of_files
    from refstd.desk.qualifications import correct_vision

    record = one_of_files(("vision_tests", file), ("", None))
    with call.store() as lab:
        new = correct_vision(lab, number, record.draft, why, by=call.who(), now=call.now(lab))
    call.line(f"test of vision {new} takes the place of {number.upper()}")
