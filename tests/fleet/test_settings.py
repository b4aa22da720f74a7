"""The keeper's settings: what may stand there and what is refused."""

import datetime
import math

import pytest

from riskmodel.errors import TableError
from riskmodel.fleet import Settings
from riskmodel.fleet.settings import read_settings


@pytest.fixture
def settings(tmp_path):
    def read(text):
        (tmp_path / "settings.toml").write_text(text, encoding="utf-8")
        return read_settings(tmp_path)

    return read


def test_without_a_file_every_setting_has_its_default(tmp_path):
    assert read_settings(tmp_path) == Settings()
    assert Settings().delimiter == ","
    assert Settings().kill_limit is None


def test_every_setting_is_read(settings, tmp_path):
    (tmp_path / "ours").mkdir()
    read = settings(
        'delimiter = ";"\ndecimal = ","\ndate_format = "%d.%m.%Y"\nas_of = 2026-04-01\n'
        'season_start = "04-15"\n'
        'season_end = "10-20"\ncurrency = "EUR"\nprice_scale = 0.9\ntrade = "ours"\nkill_limit = 0.001\n'
        '[event_words]\n"Checked over" = "inspected"\n'
    )
    assert read == Settings(
        delimiter=";",
        decimal=",",
        date_format="%d.%m.%Y",
        as_of=datetime.date(2026, 4, 1),
        season_start="04-15",
        season_end="10-20",
        currency="EUR",
        price_scale=0.9,
        trade="ours",
        trade_folder=tmp_path / "ours",
        kill_limit=0.001,
        event_words={"checked_over": "inspected"},
    )


def test_as_of_may_be_a_date_or_text(settings):
    assert settings("as_of = 2026-04-01").as_of == settings('as_of = "2026-04-01"').as_of


def test_a_file_with_a_byte_order_mark_is_read(settings):
    assert settings('\ufeffcurrency = "USD"').currency == "USD"


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        (
            'delimeter = ";"',
            r"settings.toml: delimeter must be a known setting \(nearest: delimiter\), got ;",
        ),
        ("colour = 3", "settings.toml: colour must be a known setting, got 3"),
        ('delimiter = "x"', "delimiter must be a comma, a semicolon, a tab or a bar, got x"),
        ('decimal = ";"', "decimal must be a point or a comma, got ;"),
        ('date_format = "%d/%m"', "date_format must hold a day, a month and a year"),
        ('date_format = "%Y-%d-%m"', "date_format must hold a day, a month and a year"),
        ("date_format = 3", "date_format must hold a day, a month and a year"),
        ('as_of = "soon"', "as_of must be a day such as 2026-04-01, got soon"),
        ("as_of = 2026-04-01T08:00:00", "as_of must be a day such as 2026-04-01"),
        ('season_start = "15-04"', "season_start must be a month and day such as 04-15, got 15-04"),
        ('season_end = "02-30"', "season_end must be a month and day such as 10-20, got 02-30"),
        ('season_start = "04-15"', "season_end must be given with season_start, got nothing"),
        ('season_end = "10-20"', "season_start must be given with season_end, got nothing"),
        ("currency = 5", "currency must be text, got 5"),
        ('currency = ""', "currency must be text, got nothing"),
        (
            'currency = "EUR"',
            r"price_scale must say how many EUR one USD costs, for the price tables are in USD \(1 takes them one for "
            r"one\), got nothing",
        ),
        ("price_scale = 0.9", "currency must be given with price_scale, got nothing"),
        (
            'currency = "USD"\nprice_scale = 2',
            "price_scale must be left out where every price is in USD already",
        ),
        ('currency = "EUR"\nprice_scale = 0', "price_scale must be a number above 0, got 0"),
        ('currency = "EUR"\nprice_scale = -1', "price_scale must be a number above 0, got -1"),
        ('currency = "EUR"\nprice_scale = inf', "price_scale must be a number above 0, got inf"),
        ('currency = "EUR"\nprice_scale = nan', "price_scale must be a number above 0, got nan"),
        ('currency = "EUR"\nprice_scale = true', "price_scale must be a number above 0, got"),
        ('trade = "nowhere"', "trade must be a folder of tables beside the fleet's own, got nowhere"),
        ("kill_limit = 0", "kill_limit must be a probability above 0 and below 1, got 0"),
        ("kill_limit = 1.5", "kill_limit must be a probability above 0 and below 1, got 1.5"),
        ("kill_limit = true", "kill_limit must be a probability above 0 and below 1, got True"),
        ("kill_limit = nan", "kill_limit must be a probability above 0 and below 1, got nan"),
        ("severity_money_scale = 0", "severity_money_scale must be a number above 0 and at most 1, got 0"),
        ("severity_money_scale = 2", "severity_money_scale must be a number above 0 and at most 1, got 2"),
        ("severity_money_scale = true", "severity_money_scale must be a number above 0 and at most 1"),
        ('event_words = "inspected"', "event_words must give each of your words one of our events"),
        ('[event_words]\nlooked = "seen"', "event_words must give each of your words one of our events"),
        ('decimal = ","', "decimal must differ from the delimiter, got ,"),
        ("delimiter = ", "settings.toml: must be a TOML file in UTF-8"),
    ],
)
def test_a_setting_that_cannot_be_is_refused(settings, text, rule):
    with pytest.raises(TableError, match=rule):
        settings(text)


@pytest.mark.parametrize(("text", "scale"), [("0.01", 0.01), ("1", 1), ("1.0", 1.0)])
def test_the_money_bands_of_severity_may_be_the_keepers_or_the_standards(settings, text, scale):
    assert settings(f"severity_money_scale = {text}\n").severity_money_scale == scale


def test_all_faults_of_the_settings_come_at_once(settings):
    with pytest.raises(TableError, match="colour") as caught:
        settings("colour = 3\nkill_limit = 2\nas_of = 3\n")
    assert [problem.column for problem in caught.value.problems] == ["colour", "kill_limit", "as_of"]


def test_settings_in_another_encoding_are_refused(tmp_path):
    (tmp_path / "settings.toml").write_bytes('currency = "£"'.encode("latin-1"))
    with pytest.raises(TableError, match="must be a TOML file in UTF-8"):
        read_settings(tmp_path)


def test_broken_settings_are_a_problem_of_the_fleet(problems):
    assert problems(settings="kill_limit = 2") == [
        "settings.toml: kill_limit must be a probability above 0 and below 1, got 2"
    ]


def test_the_keepers_own_words_for_events_are_read(load, plain):
    records = "item_id,date,event\nW1,2019-05-01,Checked Over\nW1,2020-05-01,inspected\n"
    fleet = load(**{**plain, "records": records, "settings": '[event_words]\n"checked over" = "inspected"\n'})
    assert fleet.records["event"].tolist() == ["inspected", "inspected"]


def test_the_season_of_the_settings_is_every_boats_that_has_none(load):
    fleet = load(
        vessels="vessel_id,propulsion,value,season_start,season_end\nA,outboard,1,,\nB,outboard,1,03-01,11-30\n",
        settings='season_start = "04-15"\nseason_end = "10-20"\n',
    )
    assert fleet.vessels["season_start"].tolist() == ["04-15", "03-01"]
    assert fleet.vessels["season_end"].tolist() == ["10-20", "11-30"]
    traced = fleet.defaulted.set_index("column").loc["season_start"]
    assert (traced["source"], traced["count"]) == ("settings.toml", 1)


def test_the_limit_is_left_to_others_where_it_is_not_given(load):
    assert load().settings.kill_limit is None
    assert math.isclose(load(settings="kill_limit = 0.002").settings.kill_limit, 0.002)


def test_limits_and_yard_hours_of_a_plan_are_read(settings):
    read = settings("sinking_limit = 0.004\nyard_hours_per_month = 60\n")
    assert read.sinking_limit == 0.004
    assert read.yard_hours_per_month == 60
    assert Settings().sinking_limit is None
    assert Settings().yard_hours_per_month is None
    assert settings("yard_hours_per_month = 0").yard_hours_per_month == 0


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        ("sinking_limit = 0", "sinking_limit must be a probability above 0 and below 1"),
        ("sinking_limit = 1.5", "sinking_limit must be a probability above 0 and below 1"),
        ('sinking_limit = "low"', "sinking_limit must be a probability"),
        ("yard_hours_per_month = -1", "yard_hours_per_month must be a number of hours, 0 or more"),
        ("yard_hours_per_month = inf", "yard_hours_per_month must be a number of hours"),
        ("yard_hours_per_month = true", "yard_hours_per_month must be a number of hours"),
    ],
)
def test_limits_and_hours_that_cannot_be_are_refused(settings, text, rule):
    with pytest.raises(TableError, match=rule):
        settings(text)
