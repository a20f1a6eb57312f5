"""Who may do what: one table. A role brings the everyday acts; an authority is granted, and never used on one's own check."""

from dataclasses import dataclass

from refstd.base.errors import NotAllowed

CUSTODIAN, TECHNICIAN, AUDITOR = "custodian", "technician", "auditor"
LEVEL_2, LEVEL_3, QUALITY = "level 2", "responsible level 3", "quality"


@dataclass(frozen=True, slots=True)
class Permission:
    """Who may do an act: one of the roles; or someone who holds one of the authorities."""

    act: str
    roles: frozenset[str] = frozenset()
    authorities: frozenset[str] = frozenset()


def _row(act: str, roles: tuple[str, ...] = (), authorities: tuple[str, ...] = ()) -> tuple[str, Permission]:
    return act, Permission(act, frozenset(roles), frozenset(authorities))


PERMISSIONS = dict((
    _row("keep the register", (CUSTODIAN,)),
    _row("keep people", (CUSTODIAN,)),
    _row("change a state", (CUSTODIAN,)),
    _row("quarantine", (CUSTODIAN, TECHNICIAN)),
    _row("file a certificate", (CUSTODIAN,)),
    _row("keep schedules", (CUSTODIAN,)),
    _row("set a tolerance", (CUSTODIAN,), (LEVEL_3, QUALITY)),
    _row("defer a due date", (), (QUALITY,)),
    _row("review an interval", (), (LEVEL_3, QUALITY)),
    _row("file a procedure", (CUSTODIAN,), (LEVEL_3,)),
    _row("open a job", (CUSTODIAN, TECHNICIAN)),
    _row("check out", (CUSTODIAN, TECHNICIAN)),
    _row("check in", (CUSTODIAN, TECHNICIAN)),
    _row("report a loss", (CUSTODIAN, TECHNICIAN)),
    _row("reserve", (CUSTODIAN, TECHNICIAN)),
    _row("override advice", (), (LEVEL_3,)),
    _row("make a setup", (CUSTODIAN, TECHNICIAN)),
    _row("make a response check", (CUSTODIAN, TECHNICIAN)),
    _row("compare blocks", (CUSTODIAN, TECHNICIAN)),
    _row("inspect on receipt", (CUSTODIAN,)),
    _row("record an event", (CUSTODIAN, TECHNICIAN)),
    _row("log an examined lot", (CUSTODIAN, TECHNICIAN)),
    _row("review a procedure", (CUSTODIAN, TECHNICIAN), (LEVEL_2, LEVEL_3)),
    _row("approve a procedure", (), (LEVEL_3,)),
    _row("withdraw a procedure", (), (LEVEL_3,)),
    _row("approve a baseline", (), (LEVEL_2, LEVEL_3)),
    _row("open a finding", (CUSTODIAN, TECHNICIAN, AUDITOR)),
    _row("decide a finding", (), (LEVEL_3, QUALITY)),
    _row("release a finding", (), (LEVEL_3, QUALITY)),
    _row("import", (CUSTODIAN,)),
    _row("export", (CUSTODIAN, TECHNICIAN, AUDITOR)),
    _row("back up", (CUSTODIAN, AUDITOR)),
    _row("issue a report", (CUSTODIAN, AUDITOR)),
    _row("make a checkpoint", (CUSTODIAN, AUDITOR), (QUALITY,)),
))  # fmt: skip


def allows(act: str, *, role: str, authorities: frozenset[str]) -> bool:
    """Return whether an act is open to a role or to a holder of these authorities."""
    permission = PERMISSIONS[act]
    return role in permission.roles or bool(authorities & permission.authorities)


def refuse_unless(act: str, *, code: str, role: str, authorities: frozenset[str]) -> None:
    """Refuse an act that the person may not do, naming what it needs and who could."""
    if allows(act, role=role, authorities=authorities):
        return
    permission = PERMISSIONS[act]
    needed = [
        *sorted(f"a {r}" for r in permission.roles),
        *sorted(f"someone with the authority '{a}'" for a in permission.authorities),
    ]
    raise NotAllowed(f"{code} ({role}) may not {act}", "authority", f"Ask {' or '.join(needed)}.")


SECOND_WITH_AUTHORITY = "Ask a second person with the authority."


def refuse_own(act: str, *, code: str, maker: str, remedy: str = SECOND_WITH_AUTHORITY) -> None:
    """Refuse when the one who decides is the one whose work it is. `remedy`: who can, where it takes no authority."""
    if code == maker:
        raise NotAllowed(
            f"{code} may not {act}: it rests on {code}'s own work",
            "authority",
            remedy,
        )
