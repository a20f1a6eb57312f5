"""The people of the invented lab: one custodian, three technicians, the responsible level 3, one auditor."""

# code, name, role
PEOPLE = (
    ("ORLA", "Orla Fenwick", "custodian"),  # the first custodian: the store is made with her
    ("TAM", "Tam Brindle", "technician"),
    ("WREN", "Wren Hollis", "technician"),
    ("IVO", "Ivo Marsh", "technician"),
    ("GRETA", "Greta Lindmoor", "technician"),
    ("ANSEL", "Ansel Quill", "auditor"),
)

# person, authority, granted on, expires on, why
GRANTS = (
    ("IVO", "level 2", "2021-09-01", "2026-08-31", "level 2 surface, certificate on file"),
    ("GRETA", "responsible level 3", "2022-01-10", "2027-01-09", "appointed by the lab's management"),
    ("ANSEL", "quality", "2023-06-01", "", "head of quality"),
)

PRACTICE = "written practice WP-02"  # the lab's own
METHOD, SCHEME = "ET", f"{PRACTICE}, paragraph 3.1"
# person, level, certificate, authorised on, expires on
QUALIFICATIONS = (
    ("TAM", "2", "FEN-ET-041", "2022-05-16", "2027-05-15"),
    ("WREN", "2", "FEN-ET-052", "2023-10-02", "2028-10-01"),
    ("IVO", "2", "FEN-ET-027", "2021-09-01", "2026-08-31"),
    ("GRETA", "3", "FEN-ET-009", "2022-01-10", "2027-01-09"),
)
# person, tests of near vision by year: each counts to the day before the same day a year later
NEAR_VISION = (
    ("TAM", ("2023-10-09", "2024-10-07", "2025-10-06")),
    ("WREN", ("2023-04-11", "2024-03-28", "2025-03-27")),
    ("IVO", ("2023-06-19", "2024-06-17", "2025-06-16")),
    ("GRETA", ("2023-11-13", "2024-11-11", "2025-11-10")),
)
COLOUR_TESTED = "2023-10-09"  # everybody, once in five years by the lab's own practice
