"""Items that belong to somebody else: when they go back, and who decides about their calibration. It advises only."""

from datetime import date

from refstd.base.reason import Reason, Weight


def return_reasons(asset_no: str, owner: str, return_on: date | None, today: date, ends_on: date) -> tuple[Reason, ...]:
    """Return what the day on which an item goes back to its owner means for work that ends on a day.

    Past that day it is the owner's to say whether it may be used; before it, work that lasts longer outlasts the item.
    """
    if return_on is None or ends_on <= return_on >= today:
        return ()
    says = (
        f"{asset_no} was to go back to {owner}"
        if today > return_on
        else f"{asset_no} goes back to {owner} during the job"
    )
    cure = f"send it back, or agree a later day with {owner} and describe it anew" if today > return_on else (
        f"agree a later day with {owner}, or take another"
    )  # fmt: skip
    return (
        Reason("owner", says, f"return date {return_on}", f"the job ends {ends_on}", f"agreed with {owner}", asset_no, cure, Weight.ADVISES),
    )  # fmt: skip


def not_ours(owner: str) -> str:
    """Return what a recall says in place of a laboratory where the owner alone decides about the calibration."""
    return f"not ours to recalibrate: ask {owner}"
