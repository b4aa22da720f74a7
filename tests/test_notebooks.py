"""The notebooks run from top to bottom, show their figures, and what they say holds."""

from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient
from nbclient.exceptions import CellExecutionError

FOLDER = Path(__file__).parents[1] / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("*.ipynb"))
LARGEST = 400_000

# What each notebook tells its reader in words, asked of the names it has defined by its end.
CLAIMS = {
    "from-interval-to-life.ipynb": [
        # An interval is an early age: the middle of the belief has a tenth gone by then, never a half.
        "abs(np.exp(prior.log_age) - interval) < 1e-9 and prior.quantile == 0.10",
        "before.failure_probability(0, interval) < 0.25",
        # Survivors push the life outward; failures pull it back; both stay finite and within (0, 1).
        "0 < all_held.failure_probability(8, 1) < some_failed.failure_probability(8, 1) < 1",
        "all_held.failure_probability(8, 1) < before.failure_probability(8, 1)",
        # Coding "looked bad" as survival more than halves the chance; as a warning it lies near the truth.
        "at_eight['written as survival (wrong)'] < 0.5 * at_eight['the truth']",
        "abs(at_eight['written as a warning'] / at_eight['the truth'] - 1) < 0.3",
        "as_a_warning.failure_interval(8.0, 1.0)[0] < truth_next_year(8.0)",
        "truth_next_year(8.0) < as_a_warning.failure_interval(8.0, 1.0)[1]",
        # Records narrow the band of the bellows.
        "np.ptp(bellows_after.failure_interval(6, 1)) < np.ptp(bellows_before.failure_interval(6, 1))",
        "clash.conflict and not all_held.conflict and not some_failed.conflict",
    ],
}


def run(path: Path) -> nbformat.NotebookNode:
    """The notebook executed afresh, with its claims asserted in a last cell."""
    notebook = nbformat.read(path, as_version=4)
    claims = "\n".join(f"assert {claim}, {claim!r}" for claim in CLAIMS[path.name])
    notebook.cells.append(nbformat.v4.new_code_cell(claims))
    return NotebookClient(
        notebook, timeout=60, kernel_name="python3", resources={"metadata": {"path": FOLDER}}
    ).execute()


def pictures(notebook: nbformat.NotebookNode) -> int:
    outputs = [output for cell in notebook.cells for output in cell.get("outputs", [])]
    return sum("image/png" in output.get("data", {}) for output in outputs)


@pytest.fixture(scope="module", params=NOTEBOOKS, ids=lambda path: path.name)
def path(request):
    return request.param


@pytest.fixture(scope="module")
def stored(path):
    return nbformat.read(path, as_version=4)


def test_a_notebook_runs_without_error_and_its_words_hold(path, stored):
    fresh = run(path)
    assert pictures(fresh) == pictures(stored) >= 2


def test_a_notebook_is_kept_with_its_output(stored):
    ran = [cell for cell in stored.cells if cell.cell_type == "code"]
    assert [cell.execution_count for cell in ran] == list(range(1, len(ran) + 1))
    assert not [output for cell in ran for output in cell.outputs if output.output_type == "error"]


def test_a_notebook_is_small_enough_to_send(path):
    assert path.stat().st_size < LARGEST


def test_a_notebook_warns_nobody(stored):
    errors = [
        output
        for cell in stored.cells
        for output in cell.get("outputs", [])
        if output.get("name") == "stderr"
    ]
    assert errors == []


def test_a_notebook_begins_with_a_title_and_ends_with_the_cautions(stored):
    assert stored.cells[0].source.startswith("# ")
    assert "estimates and not a survey" in " ".join(stored.cells[-1].source.split())


def test_a_false_claim_would_be_caught(tmp_path, monkeypatch):
    page = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell("life = 1")])
    nbformat.write(page, tmp_path / "page.ipynb")
    monkeypatch.setitem(CLAIMS, "page.ipynb", ["life == 2"])
    with pytest.raises(CellExecutionError, match="life == 2"):
        run(tmp_path / "page.ipynb")
