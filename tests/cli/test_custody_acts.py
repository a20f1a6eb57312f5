"""Losing and finding, reserving ahead and taking against advice by command, as a custodian and a technician do."""

from pathlib import Path

from tests.cli.conftest import Run
from tests.given import KEEPER


def test_an_item_is_lost_told_and_found(refstd: Run) -> None:
    said = refstd("lost", "p-1", "--last-seen", "TESS, hangar 2", "--as", "TESS")
    assert (said.code, said.out.splitlines()[0]) == (
        0,
        "P-1 is lost; finding F-0001 holds it and what it leaves in doubt",
    )
    assert 'refstd lost P-1 --told "WHO, HOW"' in said.out
    assert refstd("lost", "P-1", "--told", "ORLA, at the desk", "--as", "TESS").code == 0
    assert "last seen TESS, hangar 2" in refstd("custody", "P-1").out
    assert refstd("status", "P-1").code == 1
    said = refstd("found", "P-1", "--place", "tool box 3", "--condition", "tip sound", "--as", "TOM")
    assert (said.code, "P-1 is found and quarantined" in said.out) == (0, True)
    refused = refstd("state", "P-1", "in service", "--why", "there", "--as", KEEPER)
    assert (refused.code, "nobody has inspected or checked it since" in refused.err) == (3, True)
    assert refstd("found", "P-1", "--place", "x", "--condition", "x", "--as", "TOM").code == 3


def test_what_is_reserved_for_two_jobs_is_short(refstd: Run, tmp_path: Path) -> None:
    assert refstd("shortages").code == 0
    refused = refstd("reserve", "--item", "B-1", "--as", "TESS")
    assert (refused.code, "name a job" in refused.err) == (2, True)
    said = refstd("reserve", "J-1", "--item", "B-1", "--from", "2031-03-18", "--as", "TESS")
    assert said.out == "reservation R-0001 for job J-1: B-1\n"
    jobs = "number,procedure,parts,material,form,frequency_khz,starts_on,ends_on\nJ-2,PR-1,panel 5,AL,plate,200,2031-03-19,2031-03-25\n"
    file = tmp_path / "jobs.csv"
    file.write_text(jobs)
    assert refstd("add", "jobs", file, "--as", "TESS").code == 0
    said = refstd("reserve", "J-2", "--kind", "block", "--as", "TESS")
    assert (
        "short: in the week of 17 March 2031 two jobs need the only plate block of AL, B-1 (J-1, J-2; 2031-03-19 to 2031-03-20)"
        in said.out
    )
    short = refstd("shortages")
    assert (short.code, "two jobs need the only plate block" in " ".join(short.out.split())) == (1, True)
    advised = refstd("checkout", "J-2", "B-1", "P-1", "I-1", "--as", "TESS")
    assert "advice: B-1 is reserved for job J-1" in advised.out
    assert refstd("reserve", "--cancel", "R-0001", "--why", "put off", "--as", "TOM").code == 0
    assert "cancelled by TOM: put off" in " ".join(refstd("list", "reservations").out.split())
    assert refstd("shortages").code == 0


def test_a_kit_is_taken_against_advice(refstd: Run, tmp_path: Path) -> None:
    jobs = "number,procedure,parts,material,form,frequency_khz,starts_on,ends_on\nJ-2,PR-1,panel 5,TI,plate,200,2031-03-19,2031-03-25\n"
    file = tmp_path / "jobs.csv"
    file.write_text(jobs)
    assert refstd("add", "jobs", file, "--as", "TESS").code == 0
    kit = ("checkout", "J-2", "B-1", "P-1", "I-1", "--as", "TESS")
    assert "responsible level 3" in refstd(*kit).err
    assert refstd(*kit, "--against-advice").code == 2
    assert refstd(*kit, "--against-advice", "--by", "TOM", "--why", "x").code == 3
    said = refstd(*kit, "--against-advice", "--by", "lena", "--why", "part is read beside it")
    assert (said.code, said.out.splitlines()[0]) == (0, "against advice, decided by LENA: part is read beside it")
    assert "decided by LENA (responsible level 3), part is read beside it" in " ".join(
        refstd("report", "kit", "J-2").out.split()
    )
