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
