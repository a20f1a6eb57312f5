"""A certificate file in words, the same by command and on screen."""

from refstd.base.quantity import plain, with_unit
from refstd.exchange.dcc_plan import Line, Plan


def head_in_words(plan: Plan) -> tuple[tuple[str, str], ...]:
    """Return what was understood besides the values: title and text, nothing that the certificate does not state."""
    u, draft = plan.understood, plan.draft
    performed = f"{u.performed_on}" if u.begun_on == u.performed_on else f"{u.begun_on} to {u.performed_on}"
    dates = ", ".join(f"{what} {day}" for what, day in (("received", u.received_on), ("issued", u.issued_on)) if day)
    paper = "; ".join(
        f"{i.name}{f', model {i.model}' if i.model else ''}: {', '.join(f'{who} {number}' for who, number in i.numbers)}" for i in u.items
    )  # fmt: skip
    told = (
        ("item", f"{plan.item.asset_no} {plan.item.name}, {plan.found_by}"),
        ("on the certificate", paper),
        ("certificate", f"{u.number} of {u.laboratory}" + (f" ({u.accreditation})" if u.accreditation else "")),
        ("performed", performed + (f"; {dates}" if dates else "")),
        ("replaces", f"{u.replaces} ({u.change})" if u.replaces else ""),
        ("method", draft.method),
        ("standards", draft.traceability),
        ("conditions", draft.environment),
        ("temperature", f"{plain(draft.temperature_c)} °C" if draft.temperature_c is not None else ""),
        ("adjusted", draft.adjustment),
        ("decision rule", draft.decision_rule or "none named"),
        ("stated", " / ".join(u.statements)),
        ("calibrate again by", f"{u.recalibrate_on}, a wish; the schedule here decides" if u.recalibrate_on else ""),
        ("signed by", ", ".join(u.signers) + "; a name, not a proof" if u.signers else ""),
        ("customer", u.customer),
        ("embedded", "; ".join(u.files)),
        ("file", f"{u.file}, form {u.version}, {len(u.content)} bytes, SHA-256 {u.sha256}"),
    )
    return tuple((title, says) for title, says in told if says)


def value_in_words(line: Line) -> str:
    """Return a value with its unit, U, k and probability."""
    v = line.read
    words = with_unit(plain(v.value), v.unit)
    if v.expanded_uncertainty is not None:
        k = f", k = {plain(v.coverage_factor)}" if v.coverage_factor is not None else ", k not stated"
        p = f", {plain(v.coverage_probability_percent)} %" if v.coverage_probability_percent is not None else ""
        words += f" (U = {with_unit(plain(v.expanded_uncertainty), v.unit)}{k}{p})"
    return words


def value_in_short(line: Line) -> str:
    """Return a value with its unit, U and k for a narrow column; the unit of U is the value's."""
    v = line.read
    u = f", U {plain(v.expanded_uncertainty)}" if v.expanded_uncertainty is not None else ", no U"
    k = f", k {plain(v.coverage_factor)}" if v.coverage_factor is not None else ""
    return with_unit(plain(v.value), v.unit) + u + k


def limits_in_short(line: Line) -> str:
    """Return limits and the laboratory's statement for a narrow column."""
    v = line.read
    lower, upper = ("" if x is None else plain(x) for x in (v.lower, v.upper))
    limits = f"{lower}…{upper}" if v.limits else "none"
    return f"{limits}, {v.stated}" if v.stated else limits


def limits_in_words(line: Line) -> str:
    """Return the limits of a value with their kind, and what the laboratory states."""
    v = line.read
    sides = [
        f"{word} {with_unit(plain(limit), v.unit)}"
        for word, limit in (("from", v.lower), ("to", v.upper))
        if limit is not None
    ]
    limits = f"{v.limits} limits {' '.join(sides)}" if sides else ""
    return ", ".join(x for x in (limits, f"stated: {v.stated}" if v.stated else "") if x)


def line_in_words(line: Line) -> str:
    """Return one value in a line: their place, what it means and how that is known, the value, its limits."""
    v = line.read
    means = f"{line.means or '?'} ({line.how or 'not said'})"
    nominal = f"nominal {with_unit(plain(v.nominal), v.nominal_unit)}, " if v.nominal is not None else ""
    limits = limits_in_words(line)
    what = f"{line.quantity or '?'} {line.stage}"
    return f"{line.shown} → {means}: {what}: {nominal}{value_in_words(line)}" + (f"; {limits}" if limits else "")
