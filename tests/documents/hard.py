"""What people write that is hard to set on paper: every script, right to left, without a blank, without an end."""

import copy

GREEK = "Ελένη Παπαδοπούλου"
CYRILLIC = "Юрий Ёлкин"
ARABIC = "نور الدين حمدي"
HEBREW = "נועה כהן"
HAN = "王小明"
JAPANESE = "田中さくら"
KOREAN = "김민수"
NAMES = (GREEK, CYRILLIC, ARABIC, HEBREW, HAN, JAPANESE, KOREAN)
# In which no font that the house asks for has letters.
THAI = "สมชาย"

ZHE = "ж"  # stands in no other word here
WITHOUT_A_BLANK = ZHE * 5000
TEN_LINES = "\n".join(f"{number} Ferry Stairs, behind the old rope walk and left" for number in range(1, 11))


def hard(facts):
    """The data of a paper with all of that in it."""
    facts = copy.deepcopy(facts)
    facts["workshop"] |= {"name": f"{JAPANESE} Motors", "address": TEN_LINES, "phone": "+81 3 0000 0000"}
    facts["car"] |= {"customer": ARABIC, "model": GREEK, "maker": HAN, "chassis_number": "W" * 32}
    facts["issued_by"] = HEBREW
    facts["job"] |= {"wanted": WITHOUT_A_BLANK, "complaint": f"{KOREAN}: {TEN_LINES}"}
    facts["map"] |= {"author": CYRILLIC, "released_by": HEBREW, "read_back_by": ARABIC, "serial_number": "9" * 40}
    for one in facts["map"]["versions"]:
        one |= {"author": CYRILLIC, "reason": WITHOUT_A_BLANK[:300], "released_by": HEBREW}
    facts["sheets"] = [sheet_of(row("wires", WITHOUT_A_BLANK), row("fuse", f"{HEBREW}: {TEN_LINES}"), row("coil-type"))]
    facts["strobe"]["final"] = check_by(ARABIC)
    facts["sign_off"] = {
        "by": HEBREW,
        "at": facts["made_at"],
        "remarks": WITHOUT_A_BLANK,
        "pause": "",
        "read_again": [],
    }
    facts["get_home"] = {"where": "in the car", "note": WITHOUT_A_BLANK[:300], "by": ARABIC, "at": facts["made_at"]}
    facts["let_through"] = [
        {"left": "fitting", "missing": [WITHOUT_A_BLANK[:400]], "reason": ARABIC, "by": HEBREW, "at": facts["made_at"]}
    ]
    return facts


def row(key, note=""):
    """A line of a check-list as a paper has it."""
    return {
        "key": key, "text": f"How it is: {key}", "value": "5", "unit": "A", "note": note, "earlier": [], "detail": "",
        "limits": "at most 9 A", "verdict": "pass", "mark": "", "by": f"{ARABIC}, {HEBREW}",
        "made_at": "2026-03-02T12:00:00+00:00", "received_at": "2026-03-02T15:00:00+00:00", "waited": True,
        "device": "Tablet", "second": CYRILLIC, "hold_point": key == "fuse", "source": "", "photographs": 2,
    }  # fmt: skip


def sheet_of(*rows):
    return {
        "kind": "fitting", "template": GREEK, "revision": 1, "done": len(rows), "total": len(rows),
        "devices": ["Tablet"],
        "sections": [{"title": CYRILLIC, "rows": list(rows)}],
    }  # fmt: skip


def check_by(name):
    """A strobe check of two readings."""
    reading = {
        "rpm": 2000.0, "vacuum_kpa": None, "vacuum_unit": "", "measured_deg": 20.0, "expected_deg": 20.0,
        "late_deg": 0.0, "by": name, "at": "2026-03-02T12:00:00+00:00",
    }  # fmt: skip
    return {
        "purpose": "final check", "lamp": "", "base_deg": None, "map_number": 1, "tolerance_deg": 1.0, "holds": True,
        "enough": True, "verdict": "The timing follows the map.",
        "readings": [reading, reading | {"vacuum_kpa": 40.0, "vacuum_unit": "kPa"}],
    }  # fmt: skip
