"""A revision comes into force by acts of several people, and an editorial one requires nothing else."""

import pytest

from refstd.base.errors import BadInput, NotAllowed, Refusal
from refstd.desk import people, procedure_entry, procedures
from refstd.desk.entry import draft_or_refuse as draft
from refstd.desk.jobs import jobs
from refstd.desk.procedure_acts import act_on_procedure
from refstd.desk.store import Lab, When
from tests import thin_thread as given
from tests.given import KEEPER, NOON


@pytest.fixture
def ready(lab: Lab) -> Lab:
    """A lab with issue B of a procedure in force on paper, a job under it, and a second level 3."""
    given.whole(lab)
    grant = {"person": "TOM", "authority": "responsible level 3", "granted_on": "2031-01-01", "why": "examined"}
    people.grant(lab, draft(people.GrantDraft, grant, "grant"), by=KEEPER, now=NOON)
    return lab


def issue_c(lab: Lab, limits: tuple[dict[str, str], ...] = given.LIMITS, by: str = KEEPER, **values: str) -> None:
    fields = {"code": "PR-1", "issue": "C", "title": "surface cracks, reworded", "form": "plate", "lowest_khz": "100"}
    fields |= {"highest_khz": "200", "frequency_paragraph": "4.1", "check_every_hours": "4", "check_paragraph": "6.2"}
    target = {"notch": "1.0 mm", "value": "80", "unit": "% FSH", "paragraph": "5.3"}
    procedure_entry.file_procedure(
        lab, draft(procedure_entry.ProcedureDraft, fields | {"tell": "the shift lead"} | values, "PR-1"),
        [draft(procedure_entry.LimitDraft, x, "limit") for x in limits], [draft(procedure_entry.TargetDraft, target, "target")],
        why="reworded", by=by, now=given.at(10),
    )  # fmt: skip


def act(lab: Lab, kind: str, by: str, minutes: float = 20) -> str:
    return act_on_procedure(lab, "PR-1", kind, "looked at", by=by, now=given.at(minutes))


def stands(lab: Lab, when: When | None = None) -> dict[str, str]:
    return {p.issue: p.standing for p in procedures.all_revisions(lab, when or given.when())}


def test_a_revision_is_in_force_only_once_a_level_3_who_did_not_draft_it_approved_it_after_a_review(ready: Lab) -> None:
    """Planted: the newest filed counted as in force; `objection` without the drafter."""
    issue_c(ready, by="TOM")  # a level 3 himself
    assert stands(ready) == {"B": "in force", "C": "drafted"}
    with pytest.raises(Refusal, match="was not reviewed"):
        act(ready, "approved", "LENA")
    with pytest.raises(Refusal, match="TOM drafted it and may not review it"):
        act(ready, "reviewed", "TOM")
    assert act(ready, "reviewed", "TESS") == "C"
    with pytest.raises(Refusal, match="TOM drafted it and may not approve it"):
        act(ready, "approved", "TOM")
    with pytest.raises(NotAllowed):
        act(ready, "approved", KEEPER)
    assert stands(ready) == {"B": "in force", "C": "reviewed"}
    act(ready, "approved", "LENA", 30)
    assert stands(ready) == {"B": "superseded", "C": "in force"}
    [shown] = procedures.procedures(ready, given.when())
    assert (shown.issue, shown.approval) == ("C", "LENA")
    assert [(a.kind, a.person) for a in shown.acts] == [("drafted", "TOM"), ("reviewed", "TESS"), ("approved", "LENA")]
    assert stands(ready, When(given.at(600), as_at=given.at(25))) == {"B": "in force", "C": "reviewed"}


def test_a_job_stays_bound_to_its_revision_and_the_superseded_one_stays_readable(ready: Lab) -> None:
    issue_c(ready, limits=({**given.LIMITS[0], "upper": "2"},))
    act(ready, "reviewed", "TESS")
    act(ready, "approved", "LENA")
    [job] = jobs(ready, given.when())
    assert (job.procedure.issue, job.procedure.standing) == ("B", "superseded")
    assert len(job.procedure.limits) == 3
    given.job(ready, "J-2")
    assert [j.procedure.issue for j in jobs(ready, given.when())] == ["B", "C"]


def test_a_withdrawn_revision_starts_no_work_and_brings_the_one_before_not_back(ready: Lab) -> None:
    """Planted: `in_force` over those not withdrawn; issue B came back by itself."""
    issue_c(ready)
    act(ready, "reviewed", "TESS")
    act(ready, "approved", "LENA")
    given.job(ready, "J-2")
    act(ready, "withdrawn", "LENA", 40)
    assert stands(ready) == {"B": "superseded", "C": "withdrawn"}
    with pytest.raises(Refusal, match="no revision in force"):
        given.job(ready, "J-3")
    with pytest.raises(Refusal, match="was withdrawn by LENA"):
        given.check(ready, "start", minutes=50, job="J-2")


@pytest.mark.parametrize(
    ("limits", "values", "differs"),
    [
        (({**given.LIMITS[0], "upper": "6"}, *given.LIMITS[1:]), {}, "limits"),
        (given.LIMITS[1:], {}, "limits"),
        (given.LIMITS, {"check_every_hours": "5"}, "check every hours"),
        (given.LIMITS, {"highest_khz": "250"}, "highest khz"),
    ],
)
def test_an_editorial_revision_that_requires_otherwise_is_refused(
    ready: Lab, limits: tuple[dict[str, str], ...], values: dict[str, str], differs: str
) -> None:
    with pytest.raises(BadInput, match="editorial revision") as refused:
        issue_c(ready, limits, editorial="yes", **values)
    assert [p.where for p in refused.value.problems] == [differs]
    assert stands(ready) == {"B": "in force"}


def test_an_editorial_revision_may_renumber_its_paragraphs(ready: Lab) -> None:
    moved = tuple({**x, "paragraph": f"9.{n}"} for n, x in enumerate(reversed(given.LIMITS)))
    issue_c(ready, moved, editorial="yes", check_every_hours="4.0")
    assert stands(ready) == {"B": "in force", "C": "drafted"}


def test_the_first_revision_is_not_editorial(ready: Lab) -> None:
    with pytest.raises(Refusal, match="no revision in force that this one could leave"):
        given.procedure(ready, "PR-9", editorial="yes")
