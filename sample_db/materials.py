"""The materials of the blocks and parts. Conductivities are published values; the source says where each was read."""

_TYPICAL = "Aluminum Association typical physical properties, in a handbook of product materials, table 2.16"
_TABLE_9_1 = "Electromagnetic Testing, programmed instruction book, table 9.1"
_TABLE_9_2 = "Electromagnetic Testing, programmed instruction book, table 9.2; permeability is a guide value only"
_TI64 = "about 1.0 %IACS, inferred from a frequency table (report R8418 rev 2, section 2); confirm by measurement"

# code, name, family, magnetic class, conductivity %IACS ('' where it is no use), source
MATERIALS = (
    ("AL-7075-T6", "aluminium 7075-T6", "aluminium alloy", "non-magnetic", "33", _TYPICAL),
    ("AL-2024-T3", "aluminium 2024-T3", "aluminium alloy", "non-magnetic", "30", _TYPICAL),
    ("AL-6061-T6", "aluminium 6061-T6", "aluminium alloy", "non-magnetic", "43", _TYPICAL),
    ("TI-6AL-4V", "titanium Ti-6Al-4V", "titanium alloy", "non-magnetic", "1.0", _TI64),
    ("TI-PURE", "titanium, commercially pure", "titanium", "non-magnetic", "3.1", _TABLE_9_1),
    ("SS-304", "stainless steel 304", "austenitic stainless steel", "non-magnetic", "2.5", _TABLE_9_1),
    ("CS-1020", "carbon steel 1020", "carbon steel", "ferromagnetic", "12", _TABLE_9_2),
    ("BRASS-70", "brass 70-30", "brass", "non-magnetic", "28", _TABLE_9_1),
    ("MG", "magnesium", "magnesium alloy", "non-magnetic", "37", _TABLE_9_1),
)
