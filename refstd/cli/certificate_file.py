"""A certificate that comes as a file: what was understood, what was left, what it would become; filed when somebody says so."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from refstd.base.errors import BadInput, WrongUsage
from refstd.base.text import safe
from refstd.cli.call import Call
from refstd.cli.files import content_of_file

if TYPE_CHECKING:
    from refstd.exchange.dcc_plan import Plan


@dataclass(frozen=True, slots=True)
class Said:
    """What the command's options say about a certificate file."""

    item: str = ""
    places: tuple[str, ...] = ()
    quantities: tuple[str, ...] = ()
    take: tuple[str, ...] = ()
    trust: tuple[str, ...] = ()


def import_certificate(call: Call, files: tuple[str, ...], said: Said, *, file: bool) -> None:
    """Show what a certificate file holds and what it would become; file it when told to and nothing stands against it."""
    from refstd.desk.filed import filed
    from refstd.exchange.dcc import understood_from
    from refstd.exchange.dcc_document import certificate_bytes
    from refstd.exchange.dcc_plan import file_plan, plan_import

    if len(files) != 1:
        raise WrongUsage("a certificate in XML is read alone", "", "Name one file.")
    path = Path(files[0])
    understood = understood_from(path.name, certificate_bytes(path), [content_of_file(f)[1] for f in said.trust])
    with call.store() as lab:
        plan = plan_import(
            lab, call.when(lab), understood, item=said.item, places=_pairs(said.places, "--map"),
            quantities=_pairs(said.quantities, "--quantity"), take=said.take,
        )  # fmt: skip
        if file and plan.stops:
            raise BadInput(plan.understood.file, plan.stops)
        if file:
            file_plan(lab, plan, by=call.who(), now=call.now(lab))
            answer = filed(lab, plan.item.asset_no, plan.draft.number, call.when(lab))
        else:
            answer = None
    if call.json:
        call.show_json(_as_json(plan, filed=file) | ({"answer": answer.as_dict()} if answer else {}))
        return
    _show(call, plan, filed=file)
    for line in answer.in_words() if answer else ():
        call.line(f"  {line}")


def _pairs(given: tuple[str, ...], option: str) -> dict[str, str]:
    """Return what stands left and right of each '='; the last one splits, for a name may hold one."""
    found: dict[str, str] = {}
    for text in given:
        left, sign, right = text.rpartition("=")
        if not sign or not left.strip() or not right.strip():
            raise WrongUsage(
                f"'{safe(text)[:60]}' is not THEIRS=OURS", option, "Write it so, in quotation marks if it has blanks."
            )
        found[left.strip()] = right.strip()
    return found


def _show(call: Call, plan: "Plan", *, filed: bool) -> None:
    from refstd.exchange.dcc_words import head_in_words, line_in_words

    call.line("UNDERSTOOD", strong=True)
    for title, says in head_in_words(plan):
        call.line(f"  {title}: {says}")
    call.line("VALUES", strong=True)
    for line in plan.lines:
        call.line(f"  {line_in_words(line)}")
    if plan.understood.left or plan.not_taken:
        call.line("LEFT, not understood or not used", strong=True)
    for words in (*plan.not_taken, *(f"{x.path}: {x.begins}" for x in plan.understood.left)):
        call.line(f"  {words}")
    for words in plan.watch:
        call.line(f"! {words}")
    for problem in plan.stops:
        call.line(f"! {problem}")
    place = f" in the place of {plan.supersedes}" if plan.supersedes else ""
    if filed:
        call.line(f"certificate {plan.draft.number} of {plan.item.asset_no} filed{place}", strong=True)
    elif plan.stops:
        call.line("nothing was stored; it cannot be filed before what stands above is settled", strong=True)
    else:
        call.line(f"nothing was stored; it would be filed for {plan.item.asset_no}{place} with --yes", strong=True)


def _as_json(plan: "Plan", *, filed: bool) -> dict[str, object]:
    from refstd.exchange.dcc_words import head_in_words

    return {
        "schema": "refstd.certificate-file/1", "filed": filed, "item": plan.item.asset_no, "found_by": plan.found_by,
        "sha256": plan.understood.sha256, "signatures": plan.understood.signatures, "signature": plan.understood.signed,
        "understood": dict(head_in_words(plan)), "certificate": plan.draft.model_dump(mode="json"),
        "values": [
            {
                "their_name": x.shown, "column": x.read.column, "means": x.means, "known_by": x.how, "quantity": x.quantity,
                "stage": x.stage, "value": x.read.value, "unit": str(x.read.unit), "nominal": x.read.nominal,
                "expanded_uncertainty": x.read.expanded_uncertainty, "coverage_factor": x.read.coverage_factor,
                "coverage_probability_percent": x.read.coverage_probability_percent, "lower_limit": x.read.lower,
                "upper_limit": x.read.upper, "limits": x.read.limits, "laboratory_states": x.read.stated, "stands_at": x.read.path,
            }
            for x in plan.lines
        ],
        "left": [*plan.not_taken, *(f"{x.path}: {x.begins}" for x in plan.understood.left)], "supersedes": plan.supersedes,
        "watch": list(plan.watch), "stops": [str(p) for p in plan.stops],
    }  # fmt: skip
