"""The claims table on disk: its columns, its words for causes, its rules, and what of it is seen from a day."""

import datetime

import pandas as pd
import pytest

from riskmodel.fleet import load_fleet

HEAD = "vessel_id,loss_on,cause,gross,paid\n"
TWO = f"{HEAD}Wren,2024-05-02,sinking_unattended,12000,11000\nPlover,2025-07-09,Engine damage,900,\n"


def table(*lines):
    return HEAD + "".join(f"{line}\n" for line in lines)


def test_a_fleet_holds_its_claims(load):
    claims = load(claims=TWO).claims
    assert claims["vessel_id"].tolist() == ["Wren", "Plover"]
    assert claims["loss_on"].dt.strftime("%Y-%m-%d").tolist() == ["2024-05-02", "2025-07-09"]
    assert claims["cause"].tolist() == ["sinking_unattended", "machinery_damage"]
    assert claims["gross"].tolist() == [12000, 900]
    assert claims["paid"].isna().tolist() == [False, True]
    assert claims["source_row"].tolist() == [2, 3]


def test_without_claims_the_table_is_empty_and_has_its_columns(load):
    none, some = load(), load(claims=TWO)
    assert none.claims.empty
    assert none.claims.dtypes.to_dict() == some.claims.dtypes.to_dict()
    assert not any("claim" in note for note in none.notes)


@pytest.mark.parametrize(
    ("word", "cause"),
    [
        ("sinking", "sinking"),
        ("Sank at berth", "sinking_unattended"),
        ("flooding", "partial_flooding"),
        ("partial-flooding", "partial_flooding"),
        ("broke loose", "loss_of_holding"),
    ],
)
def test_plain_words_stand_for_causes(load, word, cause):
    assert load(claims=table(f"Wren,2024-05-02,{word},5,")).claims["cause"].tolist() == [cause]


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("Tern,2024-05-02,other,1,", "vessel_id must be in the vessels table, got Tern"),
        (",2024-05-02,other,1,", "vessel_id must be given, got nothing"),
        ("Wren,,other,1,", "loss_on must be given, got nothing"),
        ("Wren,2026-06-02,other,1,", "loss_on must not be after 2026-06-01, got 2026-06-02"),
        ("Wren,2024-05-02,,1,", "cause must be given, got nothing"),
        (
            "Wren,2024-05-02,partial_floding,1,",
            "cause must be a known word (nearest: partial_flooding), got partial_floding",
        ),
        ("Wren,2024-05-02,other,,", "gross must be given, got nothing"),
        ("Wren,2024-05-02,other,-1,", "gross must not be below 0, got -1"),
        ("Wren,2024-05-02,other,5,-1", "paid must not be below 0, got -1"),
        ("Wren,2024-05-02,other,5,6", "paid must not be above gross, 5, got 6"),
    ],
)
def test_a_claim_that_breaks_a_rule_is_refused(problems, line, message):
    assert problems(claims=table(line)) == [f"claims.csv row 2: {message}"]


def test_an_injury_is_no_cause_for_it_costs_no_money(problems):
    (message,) = problems(claims=table("Wren,2024-05-02,injury,5,"))
    assert message.startswith("claims.csv row 2: cause must be a known word")


def test_a_fire_must_say_what_burned_for_most_are_no_wet_systems(problems):
    (message,) = problems(claims=table("Wren,2024-05-02,fire,5,"))
    assert message.startswith("claims.csv row 2: cause must be a known word")


@pytest.mark.parametrize("column", ["vessel_id", "loss_on", "cause", "gross"])
def test_a_required_column_is_missed(problems, column):
    columns = {"vessel_id": "Wren", "loss_on": "2024-05-02", "cause": "other", "gross": "5"}
    del columns[column]
    found = problems(claims=f"{','.join(columns)}\n{','.join(columns.values())}\n")
    assert found == [f"claims.csv row 1: {column} must be a column, got no such column"]


def claim_notes(fleet):
    return [note for note in fleet.notes if note.startswith("claims.csv")]


def test_other_causes_are_counted_and_left_out(load):
    fleet = load(
        claims=table("Wren,2024-05-02,theft,5,", "Wren,2024-05-03,other,5,", "Wren,2024-05-04,rot,5,")
    )
    assert claim_notes(fleet) == ["claims.csv: 2 claims were left out, of other causes than wet systems."]
    assert fleet.claims["cause"].tolist() == ["structural_damage"]


def test_like_rows_are_noted_and_kept(load):
    fleet = load(claims=table(*["Wren,2024-05-02,rot,5,"] * 2))
    assert claim_notes(fleet) == [
        "claims.csv: 1 claim was counted though like another of the same boat, day, cause and gross."
    ]
    assert len(fleet.claims) == 2


def test_claims_after_the_day_and_before_the_watch_are_left_out(load):
    fleet = load(
        as_of=datetime.date(2025, 1, 1),
        claims=table(
            *(f"Wren,{day},rot,5," for day in ("2019-12-31", "2020-01-01", "2025-01-01", "2025-01-02"))
        ),
        settings="claims_from = 2020-01-01\n",
    )
    assert fleet.claims["source_row"].tolist() == [3, 4]
    assert claim_notes(fleet) == [
        "claims.csv: 1 claim was left out, dated after 2025-01-01.",
        "claims.csv: 1 claim was left out, dated before claims_from, 2020-01-01.",
    ]


def test_settings_about_claims_need_a_table_of_them(problems):
    found = problems(settings="claims_from = 2020-01-01\nclaims_deductible = 500\n")
    assert found == [
        "settings.toml: claims_from must stand beside a claims table, got no such table",
        "settings.toml: claims_deductible must stand beside a claims table, got no such table",
    ]


@pytest.mark.parametrize(
    ("text", "rule"),
    [("claims_from = 2020", "claims_from must be a day"), ("claims_deductible = -1", "must be an amount")],
)
def test_settings_about_claims_keep_their_rules(problems, text, rule):
    (message,) = problems(claims=TWO, settings=text)
    assert rule in message


def test_claims_may_be_parquet(tmp_path, today):
    folder = tmp_path / "typed"
    folder.mkdir()
    pd.DataFrame({"vessel_id": ["Wren"], "propulsion": ["sterndrive"], "value": [30000.0]}).to_parquet(
        folder / "vessels.parquet"
    )
    pd.DataFrame(
        {
            "vessel_id": ["Wren"],
            "loss_on": [datetime.date(2024, 5, 2)],
            "cause": ["sinking"],
            "gross": [5000.0],
            "paid": [None],
        }
    ).to_parquet(folder / "claims.parquet")
    assert load_fleet(folder, today=today).claims["gross"].tolist() == [5000]
