"""Issued reports: the log keeps the hash of the bytes, so that a copy can be proved, and nothing else."""

import hashlib

import pytest

from refstd.base.errors import NotAllowed, Refusal
from refstd.desk.issuing import issue_report, issued_reports
from refstd.desk.store import Lab, When, verify
from refstd.printing import render
from refstd.reports import due_sheet, issued_sheet
from tests import thin_thread as given
from tests.given import KEEPER, NOON


def test_the_same_question_at_the_same_instant_gives_the_bytes_that_were_issued(lab: Lab) -> None:
    given.whole(lab)
    issued = render(due_sheet(lab, When(given.at(15), as_at=given.at(10))), "json")
    digest = issue_report(lab, "due.json", issued, by="AUDE", now=given.at(20))
    assert digest == hashlib.sha256(issued).hexdigest()
    given.block(lab, "B-9")
    again = render(due_sheet(lab, When(given.at(99), as_at=given.at(10))), "json")
    assert hashlib.sha256(again).hexdigest() == digest
    (kept,) = issued_reports(lab, given.when())
    assert (kept.name, kept.sha256, kept.size, kept.person) == ("due.json", digest, len(issued), "AUDE")
    assert issued_sheet(lab, given.when()).rows[0][1] == digest
    assert issued_reports(lab, When(given.at(99), as_at=given.at(19))) == ()


def test_issuing_adds_a_log_entry_and_no_row(lab: Lab) -> None:
    given.whole(lab)
    path = lab.path
    issue_report(lab, "due.pdf", b"bytes", by=KEEPER, now=NOON)
    lab.close()
    assert verify(path, deep=True).problems == ()


@pytest.mark.parametrize(("by", "name", "content", "kind"), [
    ("TESS", "due.pdf", b"bytes", NotAllowed), ("AUDE", "  ", b"bytes", Refusal), ("AUDE", "due.pdf", b"", Refusal),
])  # fmt: skip
def test_what_cannot_be_issued_is_refused_and_leaves_no_trace(
    lab: Lab, by: str, name: str, content: bytes, kind: type[Refusal]
) -> None:
    given.whole(lab)
    with pytest.raises(kind) as refused:
        issue_report(lab, name, content, by=by, now=NOON)
    assert refused.value.remedy
    assert issued_reports(lab, given.when()) == ()
