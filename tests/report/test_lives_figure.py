"""Figures of lives show what they say they show, in the same bytes each time, and clear of one another."""

from types import SimpleNamespace

import matplotlib
import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.text import Text

from riskmodel.errors import ParameterError
from riskmodel.life import LifeRows, fit_life
from riskmodel.life.seed import seed_class
from riskmodel.report.life_panels import PAPER_CHANCES, picture
from riskmodel.report.lives_figure import (
    figure_kind,
    life_figure,
    lives_sheet,
    write_life_figure,
    write_lives_figures,
)
from riskmodel.trade import load_trade

RANDOM = np.random.default_rng(8)
TRUE, SEEN = 9 * RANDOM.weibull(3, 60), RANDOM.uniform(3, 12, 60)
MANY = LifeRows(np.minimum(TRUE, SEEN), np.where(TRUE < SEEN, TRUE, np.inf))
ROWS = {
    "bellows_drive": MANY,
    "bellows_shift": LifeRows(SEEN[:14], np.full(14, np.inf)),
    "fuel_fill_hose": LifeRows.none(),
    "shaft_packing": LifeRows(TRUE / 20, TRUE / 20),  # all gone in a year: against the trade
    "hose_clamps": LifeRows(*(np.floor(TRUE), np.floor(TRUE) + 1)),
}


@pytest.fixture(scope="module")
def trade():
    return load_trade()


@pytest.fixture(scope="module")
def lives(trade):
    seeds = {name: seed_class(trade.classes[name], (0.2, 0.45, 0.7)) for name in ROWS}
    prior = {name: fit_life(LifeRows.none(), seed.prior) for name, seed in seeds.items()}
    posterior = {
        name: fit_life(rows, seeds[name].prior) if len(rows) else prior[name] for name, rows in ROWS.items()
    }
    return SimpleNamespace(seeds=seeds, prior=prior, posterior=posterior)


@pytest.fixture
def drawn(lives, trade):
    return lambda name: life_figure(name, lives, trade)


def words(figure):
    return [text.get_text() for text in figure.findobj(Text) if text.get_visible() and text.get_text()]


def said(figure):
    return "\n".join(words(figure))


def curve(axes, label):
    (line,) = [line for line in axes.lines if line.get_label().startswith(label)]
    return line.get_xdata(), line.get_ydata()


def panels(figure):
    """The trade's strip, the curves and the paper, by their labels."""
    by_label = {axes.get_xlabel(): axes for axes in figure.axes}
    return by_label[""], by_label["age (years)"], by_label["age (years), log scale"]


def test_the_curves_are_the_lives_before_and_after(drawn, lives):
    _, curves, _ = panels(drawn("bellows_drive"))
    for label, life in (("before", lives.prior["bellows_drive"]), ("with", lives.posterior["bellows_drive"])):
        ages, chance = curve(curves, label)
        assert chance == pytest.approx(1 - life.survival(ages))


def test_the_steps_are_the_product_limit_of_lifelines(drawn):
    from lifelines import KaplanMeierFitter

    _, curves, _ = panels(drawn("bellows_drive"))
    ages, failed = curve(curves, "records alone")
    fitter = KaplanMeierFitter().fit(MANY.lower, np.isfinite(MANY.upper))
    assert failed[1:-1] == pytest.approx(1 - fitter.survival_function_at_times(ages[1:-1]).to_numpy())
    assert failed[0] == 0


def test_a_weibull_life_of_no_doubt_is_straight_on_the_paper(drawn, lives):
    _, _, paper = panels(drawn("bellows_drive"))
    line = paper.lines[0]
    chance = 1 - lives.posterior["bellows_drive"].survival(line.get_xdata())
    shown = chance > PAPER_CHANCES[0]
    assert line.get_ydata()[shown] == pytest.approx(np.log(-np.log1p(-chance[shown])))
    assert paper.get_xscale() == "log"


def test_the_paper_is_labelled_in_years_and_per_cent(drawn):
    _, _, paper = panels(drawn("bellows_drive"))
    per_cent = [text.get_text() for text in paper.get_yticklabels()]
    assert (per_cent[0], per_cent[-1]) == ("0.1", "99")
    years = [float(text.get_text()) for text in paper.get_xticklabels()]
    assert years == pytest.approx(paper.get_xticks())
    assert "(%)" in paper.get_ylabel()


def test_the_rug_holds_the_ages_of_survivors_only(drawn):
    _, _, paper = panels(drawn("bellows_shift"))
    (rug,) = [
        found for found in paper.collections if len(found.get_paths()) > 1 or "Line" in type(found).__name__
    ]
    ages = sorted(segment[0][0] for segment in rug.get_segments())
    assert ages == pytest.approx(sorted(SEEN[:14]), rel=0.02)
    assert "survivors, each at the age last seen whole" in said(drawn("bellows_shift"))


def test_the_trades_intervals_are_marked_and_named(drawn, lives):
    strip, _, _ = panels(drawn("fuel_fill_hose"))
    intervals = lives.seeds["fuel_fill_hose"].intervals
    assert len(strip.lines) == len(intervals)
    assert sorted(line.get_xdata()[0] for line in strip.lines) == sorted(row.low for row in intervals)
    told = [text.get_text() for text in strip.texts]
    assert "renew by 10 (needs work)" in told
    assert "typical life 25–45" in told


def test_the_title_names_class_failures_and_survivors(drawn):
    failures = int((TRUE < SEEN).sum())
    assert (
        f"Drive bellows (universal joint): {failures} failures and {60 - failures} survivors seen"
        in words(drawn("bellows_drive"))
    )
    assert any(text.endswith("no failure and 14 survivors seen") for text in words(drawn("bellows_shift")))
    assert any(
        text.endswith("no records, so the trade's word alone") for text in words(drawn("fuel_fill_hose"))
    )


@pytest.mark.parametrize("name", ROWS)
def test_every_figure_says_it_is_no_survey(drawn, name):
    assert "Estimates, not a survey." in said(drawn(name))


def test_a_conflict_is_said_and_agreement_is_not(drawn):
    assert "Records and trade interval disagree" in said(drawn("shaft_packing"))
    assert "disagree" not in said(drawn("bellows_drive"))


def test_the_foot_says_how_the_records_were_reckoned(drawn):
    assert "Records alone: Kaplan–Meier; drawn while 5 or more parts are watched." in words(
        drawn("bellows_drive")
    )
    assert "Records alone: Turnbull, each share" in said(drawn("hose_clamps"))
    assert "too few failures, or too few parts watched at any age, to draw" in said(drawn("bellows_shift"))


def test_without_records_only_the_trades_curve_is_drawn(drawn):
    _, curves, _ = panels(drawn("fuel_fill_hose"))
    assert [line.get_label()[:6] for line in curves.lines] == ["before"]


def test_a_life_moved_by_other_classes_is_drawn_without_rows_of_its_own(lives, trade):
    pooled = fit_life(MANY, lives.prior["fuel_fill_hose"].prior)
    moved = type(pooled)(pooled.prior, LifeRows.none(), pooled.nodes)
    changed = SimpleNamespace(**{**vars(lives), "posterior": {**lives.posterior, "fuel_fill_hose": moved}})
    assert picture("fuel_fill_hose", changed).moved
    assert any(
        text.endswith("no records of its own")
        for text in words(life_figure("fuel_fill_hose", changed, trade))
    )


@pytest.mark.parametrize("name", ROWS)
def test_no_words_overlap_or_are_cut_off(drawn, name):
    figure = drawn(name)
    nothing_overlaps(figure)


def test_no_words_of_the_sheet_overlap_or_are_cut_off(lives, trade):
    nothing_overlaps(lives_sheet(lives, trade))


def nothing_overlaps(figure):
    FigureCanvasAgg(figure).draw()
    page = figure.bbox
    boxes = [(text.get_text(), Text.get_window_extent(text)) for text in drawn_words(figure)]
    for place, (word, box) in enumerate(boxes):
        assert page.x0 <= box.x0 <= box.x1 <= page.x1, word
        assert page.y0 <= box.y0 <= box.y1 <= page.y1, word
        for other, second in boxes[place + 1 :]:
            assert not box.padded(-1).overlaps(second.padded(-1)), (word, other)


def drawn_words(figure):
    """Every piece of text on the page; of the ticks' labels only those within the axes' limits."""
    found = [*figure.texts, *(text for legend in figure.legends for text in legend.get_texts())]
    for axes in figure.axes:
        found += axes.texts
        if axes.axison:
            found += [axes.xaxis.label, axes.yaxis.label]
            for axis, side, limits in ((axes.xaxis, 0, axes.get_xlim()), (axes.yaxis, 1, axes.get_ylim())):
                found += [
                    t for t in axis.get_ticklabels() if min(limits) <= t.get_position()[side] <= max(limits)
                ]
    return [text for text in found if text.get_text().strip()]


def test_the_sheet_has_every_class_once(lives, trade):
    sheet = lives_sheet(lives, trade)
    assert len(sheet.axes) == len(ROWS)
    for name in ROWS:
        assert sum(text.startswith(trade.classes[name].label) for text in words(sheet)) == 1
    assert any(text.startswith("Shaft packing (stuffing box) *\n") for text in words(sheet))


@pytest.mark.parametrize("kind", ["png", "pdf", "svg"])
def test_the_same_lives_make_the_same_bytes(lives, trade, tmp_path, kind):
    for name in ("one", "two"):
        write_life_figure(tmp_path / f"{name}.{kind}", "bellows_drive", lives, trade)
    one, two = ((tmp_path / f"{name}.{kind}").read_bytes() for name in ("one", "two"))
    assert one == two
    assert b"CreationDate" not in one
    assert b"<dc:date>" not in one


def test_a_page_a_class_and_the_sheet_before_them_in_pdf(lives, trade, tmp_path):
    write_lives_figures(tmp_path / "all.pdf", lives, trade)
    assert (tmp_path / "all.pdf").read_bytes().count(b"/Type /Page ") == len(ROWS) + 1


def test_the_readers_own_look_neither_shows_nor_is_changed(lives, trade, tmp_path):
    write_life_figure(tmp_path / "plain.png", "bellows_drive", lives, trade)
    with matplotlib.rc_context({"font.size": 30.0, "axes.facecolor": "red"}):
        write_life_figure(tmp_path / "red.png", "bellows_drive", lives, trade)
        assert matplotlib.rcParams["font.size"] == 30.0
    assert (tmp_path / "plain.png").read_bytes() == (tmp_path / "red.png").read_bytes()


@pytest.mark.parametrize("name", ["lives.jpg", "lives", "lives.png.gz"])
def test_another_kind_of_file_is_refused(lives, trade, tmp_path, name):
    with pytest.raises(ParameterError, match=r"a figure's name must end in \.png, \.pdf, \.svg"):
        write_lives_figures(tmp_path / name, lives, trade)
    assert list(tmp_path.iterdir()) == []


def test_the_kind_is_told_by_the_end_of_the_name_in_any_case(tmp_path):
    assert figure_kind(tmp_path / "LIVES.PDF") == ".pdf"


def test_a_class_the_fleet_has_not_is_refused(drawn):
    with pytest.raises(ParameterError, match="item class must be one of the fleet's, got mast"):
        drawn("mast")
