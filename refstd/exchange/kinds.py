"""Which CSV files refstd reads and writes for the register, and their columns.

A file is named for its kind: `blocks.csv`. Its columns are the fields of that kind, as the forms on screen have them.
Rows of some kinds complete a record of another: a row of `notches.csv` names its block in `asset_no`.
"""

from dataclasses import dataclass

from refstd.desk.certificates import CertificateDraft, ValueDraft
from refstd.desk.entry import Draft, fields_of
from refstd.desk.equipment import (
    AccessoryDraft,
    BlockDraft,
    InstrumentDraft,
    MaterialDraft,
    NotchDraft,
    ProbeDraft,
)
from refstd.desk.job_parts import DetailsDraft
from refstd.desk.jobs import JobDraft
from refstd.desk.order_tests import PastOrderTestDraft
from refstd.desk.people import GrantDraft, PersonDraft
from refstd.desk.procedure_entry import AcceptedFamilyDraft, LimitDraft, NamedItemDraft, ProcedureDraft, TargetDraft
from refstd.desk.qualifications import QualificationDraft, VisionDraft
from refstd.desk.requirements import ASKED
from refstd.desk.reservations import ReservationDraft
from refstd.desk.schedules import ScheduleDraft
from refstd.desk.setups import SetupDraft
from refstd.desk.tolerances import ToleranceDraft


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of file. `names` are the fields that identify a record; `belongs_to` and `by` tie a row to its record."""

    name: str
    draft: type[Draft]
    names: tuple[str, ...] = ()
    belongs_to: str = ""
    by: tuple[str, ...] = ()

    @property
    def file(self) -> str:
        return f"{self.name}.csv"

    @property
    def columns(self) -> tuple[str, ...]:
        """Return the columns in order: what ties the row to its record, then the fields."""
        return (*self.by, *(f.key for f in fields_of(self.draft)))


# In the order in which they are put on record: what is referred to comes first.
KINDS: dict[str, Kind] = {
    kind.name: kind
    for kind in (
        Kind("materials", MaterialDraft, ("code",)),
        Kind("people", PersonDraft, ("code",)),
        Kind("authorities", GrantDraft),
        Kind("qualifications", QualificationDraft),
        Kind("vision_tests", VisionDraft),
        Kind("blocks", BlockDraft, ("asset_no",)),
        Kind("notches", NotchDraft, belongs_to="blocks", by=("asset_no",)),
        Kind("probes", ProbeDraft, ("asset_no",)),
        Kind("instruments", InstrumentDraft, ("asset_no",)),
        Kind("accessories", AccessoryDraft, ("asset_no",)),
        Kind("order_tests", PastOrderTestDraft, ("asset_no",)),
        Kind("schedules", ScheduleDraft, ("asset_no", "activity")),
        Kind("tolerances", ToleranceDraft, ("asset_no", "notch", "quantity")),
        Kind("certificates", CertificateDraft, ("asset_no", "number")),
        Kind("values", ValueDraft, belongs_to="certificates", by=("asset_no", "certificate")),
        Kind("procedures", ProcedureDraft, ("code",)),
        Kind("limits", LimitDraft, belongs_to="procedures", by=("procedure",)),
        Kind("targets", TargetDraft, belongs_to="procedures", by=("procedure",)),
        Kind("named", NamedItemDraft, belongs_to="procedures", by=("procedure",)),
        Kind("families", AcceptedFamilyDraft, belongs_to="procedures", by=("procedure",)),
        *(Kind(name, asked[0], belongs_to="procedures", by=("procedure",)) for name, asked in ASKED.items()),
        Kind("jobs", JobDraft, ("number",)),
        Kind("job_details", DetailsDraft, belongs_to="jobs", by=("job",)),
        Kind("setups", SetupDraft, ("number",)),
        Kind("reservations", ReservationDraft),
    )
}
EQUIPMENT = ("blocks", "probes", "instruments", "accessories")
