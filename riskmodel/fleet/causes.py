"""What a claim may be about: end states that cost money, a sinking nobody can tell more of, and what is not ours."""

from __future__ import annotations

from pathlib import Path

from riskmodel.tables import read_table

SINKING, OTHER = "sinking", "other"
"""A sinking of which nobody knows whether somebody was aboard; a loss that no wet system brought about."""

CAUSE_WORDS = {
    **dict.fromkeys(("sank", "sunk"), SINKING),
    **dict.fromkeys(("sank_at_berth", "sank_at_mooring", "sinking_at_berth"), "sinking_unattended"),
    **dict.fromkeys(("sank_under_way", "foundered"), "sinking_under_way"),
    **dict.fromkeys(("flooding", "flooded", "swamped", "water_ingress"), "partial_flooding"),
    **dict.fromkeys(("explosion", "fuel_fire"), "fire_explosion"),
    **dict.fromkeys(("engine_damage", "drive_damage", "engine_failure"), "machinery_damage"),
    **dict.fromkeys(("rot", "wet_core"), "structural_damage"),
    **dict.fromkeys(("adrift", "broke_loose", "dragged"), "loss_of_holding"),
    **dict.fromkeys(("collision", "grounding", "stranding", "theft", "vandalism", "liability"), OTHER),
    **dict.fromkeys(("weather", "storm", "lightning", "electrical_fire", "ice"), OTHER),
}
"""Plain words for causes (judgement). A fire alone is not among them: most are electrical, and no wet system's."""

_MONEY = ("value_share_high", "repair_per_metre_high", "per_metre_high")


def known_causes(overlay: Path | None = None) -> tuple[str, ...]:
    """The words a claim's cause is kept under: the trade's end states that cost money, SINKING and OTHER."""
    rows = read_table("end_states", key=("end_state",), overlay=overlay)
    costly = [row["end_state"] for row in rows if any(_above_nought(row.get(name, "")) for name in _MONEY)]
    return (*costly, SINKING, OTHER)


def _above_nought(text: str) -> bool:
    try:
        return float(text) > 0
    except ValueError:
        # A number that is none is the trade tables' own problem, and reported by their reader.
        return False
