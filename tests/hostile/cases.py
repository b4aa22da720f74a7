"""A small whole fleet as the bytes of its files, and what is done to it to see what the commands make of it."""

from __future__ import annotations

import csv
import difflib
import io
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path

TABLES = {
    "vessels": """\
vessel_id,name,propulsion,fuel,built_year,length_m,value,kept,checked_every_days,core,shore_power,climate,deductible,\
season_start,season_end,hours_per_year,home_port
B1,Wren,sterndrive,gasoline,2000,8,40000,afloat,14,balsa,yes,temperate,500,04-15,10-20,80,North
B2,Plover,sail_shaft,diesel,1988,10.5,60000,mooring,7,solid,no,temperate,,04-15,10-20,60,South
""",
    "items": """\
item_id,vessel_id,item_class,position,installed_on,installed_hours,quantity,bore_mm,depth_m,rated_flow_lpm,recall,batch
I0,B1,bellows_drive,stern,2022-05-02,210,1,,,,,L1
I1,B1,bilge_pump,bilge,2019-05,,1,,,60,,
I2,B1,fuel_feed_hose,,2012,,1,8,,,,
I3,B2,shaft_packing,,2018-04-02,,1,,,,,
I4,B2,through_hull_seacock,galley,,,2,38,0.4,,,
""",
    "records": """\
item_id,vessel_id,date,hours,event,finding,reason,note
I0,B1,2025-05-01,300,inspected,sound,,
I1,B1,2026-05-05,,tested,failed,,will not lift
I3,B2,2018-04-01,,failed,failed,,
I3,B2,2018-04-02,,replaced,,failure,
,B2,2025-03-12,,hauled,,,
""",
    "periods": """\
vessel_id,from,to,state,visited_every_days
B1,2025-11-01,2026-04-01,ashore,30
B2,2026-11-01,2027-03-01,afloat_unattended,14
""",
    "claims": """\
vessel_id,loss_on,cause,gross,paid
B1,2024-07-02,sinking,12000,11500
""",
}
SETTINGS = 'as_of = 2026-06-01\ncurrency = "EUR"\nprice_scale = 0.9\nclaims_from = 2020-01-01\n'
TRADE_FOLDER = "own"


@dataclass(frozen=True)
class Case:
    """Files of a fleet by their path in its folder, what was done to them in words, and the path of the fleet there."""

    files: dict[str, bytes]
    done: tuple[str, ...]
    fleet: str = "."

    def write(self, folder: Path) -> Path:
        """Writes the files and returns the path that a command is given."""
        for name, content in self.files.items():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content)
        return folder / self.fleet

    def __repr__(self) -> str:
        return f"{'; '.join(self.done)}\n{self.diff()}"

    def diff(self) -> str:
        """How the text files differ from those of the whole fleet; of others the name and the size."""
        lines: list[str] = []
        for name, content in self.files.items():
            before = plain_files().get(name) or shipped_trade(Path(name).stem).encode()
            if content == before:
                continue
            if Path(name).suffix not in (".csv", ".toml"):
                lines.append(f"{name}: {len(content)} bytes")
                continue
            lines += difflib.unified_diff(_lines(before), _lines(content), name, name, lineterm="", n=0)
        return "\n".join(line if len(line) < 400 else f"{line[:400]}... ({len(line)})" for line in lines[:60])


def plain_files() -> dict[str, bytes]:
    """The whole fleet as a folder of CSV files."""
    tables = {f"{name}.csv": text.encode() for name, text in TABLES.items()}
    return tables | {"settings.toml": SETTINGS.encode()}


@cache
def shipped_trade(name: str) -> str:
    """A trade table as it ships; "" where there is none of this name."""
    path = files("riskmodel.data.trade").joinpath(f"{name}.csv")
    return path.read_text("utf-8") if path.is_file() else ""


def rows_of(text: str) -> list[list[str]]:
    """The rows of a table, its head first."""
    return list(csv.reader(io.StringIO(text, newline="")))


def _lines(content: bytes) -> list[str]:
    return [repr(line)[2:-1] for line in content.split(b"\n")]
