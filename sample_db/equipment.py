"""The equipment of the invented lab, as tables. Every maker is invented; part numbers are the lab's own."""

_FINE = "0.2 0.5 1.0"
_STEPS = "0.5 1.0 1.5 2.0 2.5 3.0 3.5 4.0"
_BORE = "bore"

# asset, name, part number, material, grade, form, thickness mm, bore mm, notches (mm deep, or a set), surface, made for,
# owner, state, location
BLOCKS = (
    ("B-101", "primary block, aluminium, 3 notches", "RB-AL-3P", "AL-7075-T6", "primary", "plate", "12", "", _FINE, "milled", "", "", "in service", "standards cabinet"),
    ("B-102", "block, aluminium, 3 notches", "RB-AL-3", "AL-7075-T6", "secondary", "plate", "12", "", _FINE, "milled", "", "", "in service", "shelf 1"),
    ("B-103", "block, aluminium, 8 notches", "RB-AL-8", "AL-7075-T6", "secondary", "plate", "12", "", _STEPS, "milled", "", "", "in service", "shelf 1"),
    ("B-104", "block, aluminium 2024, 4 notches", "RB-AL-4", "AL-2024-T3", "secondary", "plate", "10", "", "0.5 1.0 1.5 2.0", "milled, one layer of tape", "", "", "in service", "shelf 1"),
    ("B-105", "edge block, aluminium", "RB-AL-E", "AL-7075-T6", "secondary", "edge", "6", "", "0.5 1.0 2.0", "milled", "", "", "in service", "shelf 1"),
    ("B-106", "block, titanium, 3 notches", "RB-TI-3", "TI-6AL-4V", "secondary", "plate", "10", "", _FINE, "ground", "", "", "in service", "shelf 2"),
    ("B-107", "block, pure titanium, 3 notches", "RB-TP-3", "TI-PURE", "secondary", "plate", "10", "", "0.5 1.0 2.0", "ground", "", "", "in service", "shelf 2"),
    ("B-108", "block, stainless, 3 notches", "RB-SS-3", "SS-304", "secondary", "plate", "12", "", _FINE, "ground", "", "", "in service", "shelf 2"),
    ("B-109", "block, carbon steel, 8 notches", "RB-CS-8", "CS-1020", "secondary", "plate", "15", "", _STEPS, "ground, thin tape", "", "", "in service", "shelf 3"),
    ("B-110", "bolt-hole block, aluminium, 4.8 mm", "RB-BH-48", "AL-7075-T6", "secondary", "bore", "8", "4.8", _BORE, "reamed", "", "", "in service", "shelf 4"),
    ("B-111", "bolt-hole block, aluminium, 6.4 mm", "RB-BH-64", "AL-7075-T6", "secondary", "bore", "8", "6.4", _BORE, "reamed", "", "", "in service", "shelf 4"),
    ("B-112", "bolt-hole block, aluminium, 9.5 mm", "RB-BH-95", "AL-7075-T6", "secondary", "bore", "10", "9.5", _BORE, "reamed", "", "", "in service", "shelf 4"),
    ("B-113", "bolt-hole block, titanium, 6.4 mm", "RB-BT-64", "TI-6AL-4V", "secondary", "bore", "8", "6.4", _BORE, "reamed", "", "", "in service", "shelf 4"),
    ("B-114", "weld block, carbon steel", "RB-WE-CS", "CS-1020", "secondary", "weld", "10", "", "weld", "bead as welded, toes ground", "", "", "in service", "shelf 3"),
    ("B-115", "weld block, stainless", "RB-WE-SS", "SS-304", "secondary", "weld", "10", "", "weld", "bead as welded", "", "", "in service", "shelf 3"),
    ("B-116", "block, aluminium, 3 notches", "RB-AL-3", "AL-7075-T6", "secondary", "plate", "12", "", _FINE, "milled", "", "", "awaiting receipt", "goods in"),
    ("B-117", "block, aluminium, 3 notches", "RB-AL-3", "AL-7075-T6", "secondary", "plate", "12", "", _FINE, "milled", "", "", "in service", "shelf 1"),
    ("B-118", "conductivity standard, aluminium 6061", "CS-43", "AL-6061-T6", "secondary", "conductivity", "10", "", "", "lapped", "", "", "in service", "standards cabinet"),
    ("B-119", "block, frame 12 inner cap", "RB-F12", "AL-2024-T3", "secondary", "plate", "5", "", "0.5 1.0", "anodized", "drawing F12-330, zone B4", "customer 7", "in service", "shelf 5"),
    ("B-120", "block, aluminium, two layers", "RB-AL-L", "AL-2024-T3", "secondary", "layers", "6", "", "layers", "milled", "", "", "in service", "shelf 5"),
)  # fmt: skip

# of what belongs to a customer: (goes back on, whether it is ours to recalibrate)
THEIRS = {"B-119": ("2026-03-31", "no")}
# counted out and in with the item
PIECES = {"T-431": "shim 0.5 mm=3"}

# kind of set: (label, site, depth, length, width, second leg, cover)
NOTCH_SETS = {
    "bore": (
        ("0.5 mm wall", "bore wall", "0.5", "3.0", "0.12", "", ""),
        ("1.0 mm wall", "bore wall", "1.0", "4.0", "0.12", "", ""),
        ("0.8 mm corner", "bore corner (entry)", "0.8", "", "0.12", "0.8", ""),
    ),
    "weld": (
        ("0.5 mm", "weld toe", "0.5", "10", "0.2", "", ""),
        ("1.0 mm", "weld cap", "1.0", "10", "0.2", "", ""),
        ("2.0 mm", "heat-affected zone", "2.0", "10", "0.2", "", ""),
    ),
    "layers": (
        ("1.0 under 1.6 mm", "below the surface", "1.0", "12", "0.2", "", "1.6"),
        ("2.0 under 1.6 mm", "below the surface", "2.0", "12", "0.2", "", "1.6"),
    ),
}


def notches_of(kind: str, form: str) -> tuple[tuple[str, ...], ...]:
    """Return the notches of a block: a named set, or plain ones from their depths."""
    if kind in NOTCH_SETS:
        return NOTCH_SETS[kind]
    site = "edge" if form == "edge" else "face"
    return tuple((f"{depth} mm", site, depth, "12", "0.12", "", "") for depth in kind.split())


# first and last number, name, part number, form, circuit, coils, lowest kHz, highest kHz, diameter mm, effective width mm,
# connector, shielded, maker
PROBES = (
    (201, 206, "pencil probe, aluminium", "WS-P100", "pencil", "bridge", "absolute", "50", "500", "5", "2.5", "4-pin", "yes", "own workshop"),
    (207, 210, "pencil probe, high frequency", "WS-P2000", "pencil", "bridge", "absolute", "500", "3000", "3", "1.5", "4-pin", "yes", "own workshop"),
    (211, 214, "pencil probe 90°", "S1-90", "pencil 90°", "bridge", "absolute", "100", "500", "4", "2.5", "4-pin", "yes", "supplier one"),
    (215, 219, "spot probe, tape on its face", "S1-SP", "spot", "reflection", "absolute", "10", "200", "12", "8", "4-pin", "no", "supplier one"),
    (220, 221, "rotating probe 6.4 mm", "S2-R64", "rotating bolt-hole", "reflection", "differential", "100", "1000", "6.4", "2", "drive socket", "no", "supplier two"),
    (222, 223, "rotating probe 9.5 mm", "S2-R95", "rotating bolt-hole", "reflection", "differential", "100", "1000", "9.5", "2", "drive socket", "no", "supplier two"),
    (224, 225, "rotating probe 4.8 mm", "S2-R48", "rotating bolt-hole", "reflection", "differential", "100", "1000", "4.8", "2", "drive socket", "no", "supplier two"),
    (226, 226, "rotating probe 12.7 mm", "S2-R127", "rotating bolt-hole", "reflection", "differential", "100", "1000", "12.7", "2", "drive socket", "no", "supplier two"),
    (227, 229, "manual bolt-hole probe 4.8 mm", "WS-M48", "manual bolt-hole", "bridge", "absolute", "100", "500", "4.8", "2", "4-pin", "no", "own workshop"),
    (230, 231, "manual bolt-hole probe 6.4 mm", "WS-M64", "manual bolt-hole", "bridge", "absolute", "100", "500", "6.4", "2", "4-pin", "no", "own workshop"),
    (232, 233, "manual bolt-hole probe 9.5 mm", "WS-M95", "manual bolt-hole", "bridge", "absolute", "100", "500", "9.5", "2", "4-pin", "no", "own workshop"),
    (234, 238, "weld probe, cross-axis", "S1-X100", "weld (cross-axis)", "bridge", "cross-axis", "50", "500", "12", "6", "7-pin", "no", "supplier one"),
    (239, 239, "ring probe", "S1-RG", "ring", "reflection", "absolute", "1", "50", "20", "12", "4-pin", "no", "supplier one"),
    (240, 240, "sliding probe", "S1-SL", "sliding", "reflection", "absolute", "1", "50", "25", "15", "4-pin", "no", "supplier one"),
)  # fmt: skip

# probe: inner and outer diameter and height of its coil, winding to tip face, mm; of the others they are not known
COILS = {
    "P-204": ("1.0", "2.0", "1.5", "0.2"),
    "P-211": ("1.2", "2.4", "1.2", "0.2"),
    "P-227": ("1.0", "2.0", "1.0", "0.15"),
}

_TESTED = "two-reading test of 2023-04-18, sheet WS-77"
# asset, name, serial, firmware, frequencies, lowest kHz, highest kHz, connector, order, how known, drives rotating probes
INSTRUMENTS = (
    ("I-301", "impedance-plane instrument", "0147", "2.4", "1", "0.1", "6000", "12-pin", "rotate-then-scale", _TESTED, "no"),
    ("I-302", "impedance-plane instrument", "0151", "2.4", "1", "0.1", "6000", "12-pin", "rotate-then-scale", _TESTED, "no"),
    ("I-303", "impedance-plane instrument, two frequencies", "2208", "5.1", "2", "0.05", "10000", "12-pin", "rotate-then-scale", _TESTED, "yes"),
    ("I-304", "impedance-plane instrument, two frequencies", "2219", "5.1", "2", "0.05", "10000", "12-pin", "scale-then-rotate", _TESTED, "yes"),
    ("I-305", "impedance-plane instrument, older type", "88-031", "1.0", "1", "1", "2000", "12-pin", "unknown", "", "no"),
    ("I-306", "impedance-plane instrument, older type", "88-044", "1.0", "1", "1", "2000", "12-pin", "unknown", "", "no"),
    ("I-307", "impedance-plane instrument, two frequencies", "2231", "5.2", "2", "0.05", "10000", "12-pin", "rotate-then-scale", "maker's manual, chapter 9", "yes"),
    ("I-308", "weld inspection set", "W-12", "3.0", "1", "1", "1000", "7-pin", "rotate-then-scale", _TESTED, "no"),
)  # fmt: skip

# asset, name, form, instrument connector, probe connector, thickness mm, length m
ACCESSORIES = (
    ("K-401", "probe cable", "cable", "12-pin", "4-pin", "", "1.8"),
    ("K-402", "probe cable", "cable", "12-pin", "4-pin", "", "1.8"),
    ("K-403", "probe cable, long", "cable", "12-pin", "4-pin", "", "4"),
    ("K-404", "weld probe cable", "cable", "7-pin", "7-pin", "", "5"),
    ("A-411", "adapter", "adapter", "7-pin", "4-pin", "", ""),
    ("A-412", "adapter", "adapter", "12-pin", "7-pin", "", ""),
    ("D-421", "rotating drive", "rotating drive", "12-pin", "drive socket", "", "2"),
    ("D-422", "rotating drive", "rotating drive", "12-pin", "drive socket", "", "2"),
    ("T-431", "plastic shim", "shim", "", "", "0.5", ""),
    ("T-432", "plastic shim", "shim", "", "", "1.0", ""),
)
