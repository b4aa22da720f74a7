"""The figure of levels and categories: one tint, the counts and words of the page, the same bytes each time."""

import pytest

from riskmodel.errors import ParameterError
from riskmodel.report.severity_figure import LISTED, TINT, levels_figure, write_levels_figure
from riskmodel.report.severity_parts import cell_words, deadly_parts, level_counts, levels_frame, worst_parts
from riskmodel.report.severity_view import HEADLINE

STARTS = {".png": b"\x89PNG", ".pdf": b"%PDF", ".svg": b"<?xml"}


@pytest.fixture(scope="module")
def figure(demo):
    return levels_figure(demo)


@pytest.fixture(scope="module")
def texts(figure):
    drawn = [*figure.texts, *(text for axes in figure.axes for text in axes.texts)]
    return [text.get_text() for text in drawn]


def words(texts):
    return " ".join(" ".join(texts).split())


def test_every_cell_has_one_neutral_tint(figure):
    from matplotlib.colors import to_hex

    patches = figure.axes[0].patches
    assert len(patches) == 24
    assert {to_hex(patch.get_facecolor()) for patch in patches} == {TINT}


def test_no_ink_is_coloured(figure):
    from matplotlib.colors import to_rgb

    for text in (*figure.texts, *(text for axes in figure.axes for text in axes.texts)):
        red, green, blue = to_rgb(text.get_color())
        assert red == green == blue


def test_cells_hold_the_counts_and_words_of_the_page(demo, figure):
    counts, risk = level_counts(levels_frame(demo), demo.trade), cell_words(demo.trade)
    drawn = [text.get_text() for text in figure.axes[0].texts]
    assert drawn[0::2] == [str(n) if n else "–" for n in counts.to_numpy().ravel()]
    assert drawn[1::2] == risk.to_numpy().ravel().tolist()


def test_the_first_sentence_and_our_tailoring_are_on_it(texts):
    assert HEADLINE in words(texts)
    assert "* OUR TAILORING, not the standard's" in words(texts)
    assert "from memory" in words(texts)


def test_heads_name_the_categories_with_our_bands(figure):
    heads = [label.get_text() for label in figure.axes[0].get_xticklabels()]
    assert heads[0] == "1 Catastrophic\n20,000 USD up*"
    assert heads[3] == "4 Negligible\nunder 200*"


def test_both_lists_are_those_of_the_page(demo, figure):
    drawn = words([text.get_text() for text in figure.axes[1].texts])
    parts = levels_frame(demo)
    for row in deadly_parts(parts, LISTED).itertuples():
        assert f"{row.deadly_level}1 {row.deadly_risk}" in drawn
    for row in worst_parts(parts, LISTED).itertuples():
        assert f"{row.level}{row.category} {row.risk}" in drawn


def test_injury_has_its_own_column(demo):
    drawn = [text.get_text() for text in levels_figure(demo).axes[1].texts]
    assert "Injures,\nin 1,000" in drawn


@pytest.mark.parametrize("kind", STARTS)
def test_it_is_written_as_its_name_says_and_the_same_each_time(demo, tmp_path, kind):
    first, second = tmp_path / f"a{kind}", tmp_path / f"b{kind}"
    write_levels_figure(first, demo)
    write_levels_figure(second, demo)
    assert first.read_bytes().startswith(STARTS[kind])
    assert first.read_bytes() == second.read_bytes()


def test_another_kind_of_file_is_refused(demo, tmp_path):
    with pytest.raises(ParameterError, match="a figure's name must end in"):
        write_levels_figure(tmp_path / "levels.jpg", demo)


def test_no_words_run_out_of_the_figure_or_into_another(figure):
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    FigureCanvasAgg(figure).draw()
    edge = figure.bbox
    boxes = [text.get_window_extent() for text in (*figure.texts, *figure.axes[1].texts) if text.get_text()]
    boxes += [label.get_window_extent() for label in figure.axes[0].get_yticklabels()]
    assert all(box.x0 >= 0 and box.x1 <= edge.x1 and box.y0 >= 0 and box.y1 <= edge.y1 for box in boxes)
    for place, box in enumerate(boxes):
        assert not any(box.overlaps(other) for other in boxes[place + 1 :])
