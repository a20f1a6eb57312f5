"""Who may do what: the whole table of acts, roles and authorities, and nobody judges their own work."""

from itertools import chain, combinations

import pytest

from refstd.base.errors import NotAllowed
from refstd.rules.authority import PERMISSIONS, refuse_own, refuse_unless

ROLES = ("custodian", "technician", "auditor")
AUTHORITIES = ("level 2", "responsible level 3", "quality")
C, T, A = "custodian", "technician", "auditor"
L2, L3, Q = AUTHORITIES

# Written out a second time, on purpose, from the design's roles and authorities: act, roles, authorities.
TABLE: dict[str, tuple[set[str], set[str]]] = {
    "keep the register": ({C}, set()),
    "keep people": ({C}, set()),
    "change a state": ({C}, set()),
    "quarantine": ({C, T}, set()),
    "file a certificate": ({C}, set()),
    "keep schedules": ({C}, set()),
    "set a tolerance": ({C}, {L3, Q}),
    "defer a due date": (set(), {Q}),
    "review an interval": (set(), {L3, Q}),
    "file a procedure": ({C}, {L3}),
    "open a job": ({C, T}, set()),
    "check out": ({C, T}, set()),
    "check in": ({C, T}, set()),
    "report a loss": ({C, T}, set()),
    "reserve": ({C, T}, set()),
    "override advice": (set(), {L3}),
    "make a setup": ({C, T}, set()),
    "make a response check": ({C, T}, set()),
    "compare blocks": ({C, T}, set()),
    "inspect on receipt": ({C}, set()),
    "record an event": ({C, T}, set()),
    "log an examined lot": ({C, T}, set()),
    "review a procedure": ({C, T}, {L2, L3}),
    "approve a procedure": (set(), {L3}),
    "withdraw a procedure": (set(), {L3}),
    "approve a baseline": (set(), {L2, L3}),
    "open a finding": ({C, T, A}, set()),
    "decide a finding": (set(), {L3, Q}),
    "release a finding": (set(), {L3, Q}),
    "import": ({C}, set()),
    "export": ({C, T, A}, set()),
    "back up": ({C, A}, set()),
    "issue a report": ({C, A}, set()),
    "make a checkpoint": ({C, A}, {Q}),
}
HELD = [frozenset(x) for x in chain.from_iterable(combinations(AUTHORITIES, n) for n in range(4))]


def test_the_table_names_every_act() -> None:
    assert set(TABLE) == set(PERMISSIONS)


@pytest.mark.parametrize("act", TABLE)
@pytest.mark.parametrize("role", ROLES)
@pytest.mark.parametrize("held", HELD, ids=lambda held: "+".join(sorted(held)) or "none")
def test_an_act_needs_its_role_or_its_authority(act: str, role: str, held: frozenset[str]) -> None:
    """Planted: an auditor let in to 'change a state'; its eight rows failed."""
    roles, authorities = TABLE[act]
    if role in roles or held & authorities:
        refuse_unless(act, code="ANN", role=role, authorities=held)
        return
    with pytest.raises(NotAllowed) as refused:
        refuse_unless(act, code="ANN", role=role, authorities=held)
    assert refused.value.wrong == f"ANN ({role}) may not {act}"
    assert refused.value.remedy.startswith("Ask ")
    for needed in (*roles, *authorities):
        assert needed in refused.value.remedy


def test_a_release_and_an_approval_are_nobodys_everyday_act() -> None:
    """Design: approving, releasing and deciding each need an authority; a role alone is never enough."""
    for act in ("approve a procedure", "approve a baseline", "decide a finding", "release a finding"):
        assert not PERMISSIONS[act].roles


def test_nobody_decides_on_their_own_work() -> None:
    refuse_own("release finding F-0001", code="LENA", maker="TESS")
    with pytest.raises(NotAllowed, match="second person"):
        refuse_own("release finding F-0001", code="LENA", maker="LENA")
