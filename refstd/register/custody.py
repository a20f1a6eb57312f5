"""Who has what, for which job, since when."""

from datetime import date

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from refstd.register.columns import Base, Fact, Record, key_of, one_of, strict


class Loan(Fact, Base):
    """An item handed out to a person for a job. `counted`: its pieces as counted out, as 'shim=3; tip=2', '' for none."""

    __tablename__ = "loan"
    equipment_id: Mapped[int] = key_of("equipment")
    job_id: Mapped[int] = key_of("job")
    person_id: Mapped[int] = key_of("person")
    due_back_on: Mapped[date]
    condition: Mapped[str]
    counted: Mapped[str]
    __table_args__ = strict(UniqueConstraint("equipment_id", "entry"))


class LoanHandover(Fact, Base):
    """A loan that goes on with another person, for the same job; who gave it is whoever had it before."""

    __tablename__ = "loan_handover"
    loan_id: Mapped[int] = key_of("loan")
    person_id: Mapped[int] = key_of("person")
    condition: Mapped[str]
    __table_args__ = strict(UniqueConstraint("loan_id", "entry"))


class ShiftHandover(Fact, Base):
    """A job in hand that goes on with another person. `impossible`: why no closing check could be made, '' where one was."""

    __tablename__ = "shift_handover"
    job_id: Mapped[int] = key_of("job")
    person_id: Mapped[int] = key_of("person")
    to_person_id: Mapped[int] = key_of("person")
    condition: Mapped[str]
    impossible: Mapped[str]
    note: Mapped[str]
    __table_args__ = strict(UniqueConstraint("job_id", "entry"))


class ShiftHandoverSetup(Record, Base):
    """A setup that was at work when a job was handed over, and the check that closed its work; none where none could be made."""

    __tablename__ = "shift_handover_setup"
    shift_handover_id: Mapped[int] = key_of("shift_handover")
    setup_id: Mapped[int] = key_of("setup")
    closing_check_id: Mapped[int | None] = key_of("response_check")
    __table_args__ = strict(UniqueConstraint("shift_handover_id", "setup_id"))


class LoanReturn(Fact, Base):
    """The end of a loan, with the condition in which the item came back."""

    __tablename__ = "loan_return"
    loan_id: Mapped[int] = key_of("loan", unique=True)
    person_id: Mapped[int] = key_of("person")
    sound: Mapped[bool]
    condition: Mapped[str]
    counted: Mapped[str]
    __table_args__ = strict()


class Unaccounted(Record, Base):
    """Where to look for a piece that did not come back, or came back too many; its finding says which and how many."""

    __tablename__ = "unaccounted"
    finding_id: Mapped[int] = key_of("finding", unique=True)
    loan_id: Mapped[int] = key_of("loan")
    part: Mapped[str]
    area: Mapped[str]
    __table_args__ = strict()


class Loss(Fact, Base):
    """An item that nobody can find: where and by whom it was last seen. Its finding holds it and what it leaves in doubt."""

    __tablename__ = "loss"
    equipment_id: Mapped[int] = key_of("equipment")
    finding_id: Mapped[int] = key_of("finding", unique=True)
    person_id: Mapped[int] = key_of("person")
    last_seen: Mapped[str]
    __table_args__ = strict()


class LossTold(Fact, Base):
    """Who was told that an item is lost, and how: its owner, or in the house the custodian."""

    __tablename__ = "loss_told"
    loss_id: Mapped[int] = key_of("loss")
    person_id: Mapped[int] = key_of("person")
    told: Mapped[str]
    __table_args__ = strict()


class ItemFound(Fact, Base):
    """A lost item that was found: by whom, where, in which condition. It is not back in service by that."""

    __tablename__ = "item_found"
    equipment_id: Mapped[int] = key_of("equipment")
    person_id: Mapped[int] = key_of("person")
    place: Mapped[str]
    sound: Mapped[bool]
    condition: Mapped[str]
    __table_args__ = strict()


class Reservation(Fact, Base):
    """What a job is to have from day to day: one item, or one of a kind that suits the job."""

    __tablename__ = "reservation"
    number: Mapped[str]
    number_key: Mapped[str] = mapped_column(unique=True)
    job_id: Mapped[int] = key_of("job")
    kind: Mapped[str]
    equipment_id: Mapped[int | None] = key_of("equipment")
    starts_on: Mapped[date]
    ends_on: Mapped[date]
    person_id: Mapped[int] = key_of("person")
    note: Mapped[str]
    __table_args__ = strict(
        one_of("kind", ("block", "probe", "instrument", "accessory")),
        CheckConstraint("ends_on >= starts_on", name="days"),
    )


class ReservationCancelled(Fact, Base):
    """The end of a reservation before its days are over."""

    __tablename__ = "reservation_cancelled"
    reservation_id: Mapped[int] = key_of("reservation", unique=True)
    person_id: Mapped[int] = key_of("person")
    why: Mapped[str]
    __table_args__ = strict()


class AgainstAdvice(Fact, Base):
    """A kit that went out for a job against advice: who decided it and by which authority, what stood against it, a line each."""

    __tablename__ = "against_advice"
    job_id: Mapped[int] = key_of("job")
    person_id: Mapped[int] = key_of("person")
    authority: Mapped[str]
    taken_by_id: Mapped[int] = key_of("person")
    why: Mapped[str]
    advised: Mapped[str]
    __table_args__ = strict()


class AgainstAdviceItem(Record, Base):
    """An item of a kit that went out against advice."""

    __tablename__ = "against_advice_item"
    against_advice_id: Mapped[int] = key_of("against_advice")
    equipment_id: Mapped[int] = key_of("equipment")
    __table_args__ = strict(UniqueConstraint("against_advice_id", "equipment_id"))


class LoanOpen(Base):
    """Now table: items that are out. One row an item, so that two people can never have it at once."""

    __tablename__ = "loan_open"
    equipment_id: Mapped[int] = key_of("equipment", primary_key=True)
    loan_id: Mapped[int] = key_of("loan")
    __table_args__ = strict(now=True)
