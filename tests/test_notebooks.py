"""The notebooks run from top to bottom, show their figures, and what they say holds."""

from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient
from nbclient.exceptions import CellExecutionError

FOLDER = Path(__file__).parents[1] / "notebooks"
NOTEBOOKS = sorted(FOLDER.glob("*.ipynb"))
LARGEST = 400_000
# Seconds: only a cell that hangs takes this long, on the slowest machine.
LONGEST_CELL = 1200
# A book's year and an owner's season take many seconds: these run with the whole commands.
LONG = {"an-insurers-year.ipynb", "an-owners-season.ipynb"}

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
    "an-owners-season.ipynb": [
        # What is said of the boat at the terminal is what the page tells it, and the starter has no dates.
        "(boat.propulsion, boat.length_m, boat.built_year, boat.value) == ('sterndrive', 7.4, 2009, 26_000)",
        "list(parts.items.columns) == ['item_id', 'vessel_id', 'item_class', 'position', 'quantity']",
        "fleet.settings.kill_limit == 1 / 10_000 == result.limit",
        "result.horizon.until == season.horizon.until == nothing_known.horizon.until",
        # The winter ashore speaks for her; beside a typical boat she is likelier to sink, to flood and to burn.
        "(season.months['end'].iloc[-1] - season.months['start'].iloc[0]).days < 366",
        "boat_chance(result, 'sinking_unattended')[0] "
        "< nothing_known.totals.set_index('end_state').loc['sinking_unattended', 'chance']",
        "boat_chance(assess(__import__('dataclasses').replace(fleet, periods=fleet.periods[:0])), "
        "'sinking_unattended')[0] > 1.3 * boat_chance(result, 'sinking_unattended')[0]",
        "(season.totals.set_index('end_state').loc[['sinking', 'partial_flooding', 'fire_explosion']]"
        ".eval('chance > typical')).all()",
        # The bucket's 13 litres a minute need work and head the list, then what can kill, then money.
        "[r['reading'] for r in records if 'reading' in r] == ['13'] and records[4]['reading_unit'] == 'L/min'",
        "ranked['item_id'].iloc[0] == part['bilge_pump']",
        "ranked['defect'].iloc[0] == 'last found needing work'",
        "list(dict.fromkeys(ranked['group'])) == ['known defect', 'path that can kill', 'money']",
        "all(row.failing > 13 for row in trade.readings if "
        "(row.item_class, row.reading_unit) == ('bilge_pump', 'L/min'))",
        # The bellows were handled a fortnight ago, found sound, and are due all the same.
        "records[-1]['item_id'] == part['bellows_drive'] and records[-1]['finding'] == 'sound'",
        "(fleet.as_of - __import__('datetime').date.fromisoformat(records[-1]['date'])).days == 14",
        "part['bellows_drive'] in set(overdue['item_id'])",
        # What the three jobs do.
        "of_jobs.loc['new fuel feed hose', 'fire or explosion'] "
        "< 0.5 * of_jobs.loc['as she stands', 'fire or explosion']",
        "of_jobs['sinking'].iloc[1:4].idxmin() == 'new drive bellows'",
        "of_jobs.loc['new bilge pump', 'partly flooded'] < 0.5 * of_jobs.loc['as she stands', 'partly flooded']",
        "(of_jobs.loc['all three'] <= of_jobs.min() + 1e-12).all()",
        # Months: no sinking ashore to speak of, growth from May to September, November's rain, what waits for April.
        "months.loc[~afloat, 'sinking_unattended'].sum() < 0.01 * months['sinking_unattended'].sum()",
        "(np.diff([row.sinking_unattended / (row.end - row.start).days for row in months.itertuples() "
        "if 5 <= row.start.month <= 9]) > 0).all()",
        "months['partial_flooding'].iloc[0] > 5 * months['partial_flooding'].iloc[1:5].max()",
        "not any(record.get('item_id') == part['portlight_bedding1 of 3'] for record in records)",
        "months.loc[~afloat, 'can_kill'].sum() < 0.01 * months['can_kill'].sum()",
        "months['can_kill'].idxmax() == months.index[months['start'].map(lambda day: day.month == 4)][0]",
        # The calendar: every task has a reason; defects and what can kill head their groups.
        "(tasks['why'] != '').all() and groups[0] == 'before the boat is used again'",
        "tasks['why'].iloc[0].startswith('known defect') and len(calendar.every_trip) > 3",
        # One look, three answers.
        "len(answers) == 3",
        "np.isnan(result.frame.set_index('item_id').loc[hose, 'age_years'])",
        "of_hose.loc['sound, marked 2024', 'failure_probability'] "
        "< 0.5 * of_hose.loc['not looked at', 'failure_probability']",
        "1 < of_hose.loc['sound, marked 2009', 'failure_probability'] "
        "/ of_hose.loc['not looked at', 'failure_probability'] < 2",
        "of_hose.loc['sound, marked 2009', 'overdue'] and not of_hose.loc['sound, marked 2024', 'overdue']",
        "renewals['sound, marked 2009'] == 'before the first trip'",
        "of_hose.loc['hard, and the rag smells', 'group'] == 'known defect'",
        "renewals['hard, and the rag smells'] == 'before the boat is used again'",
        "fire['chance'].idxmax() == 'hard, and the rag smells'",
        # The file: an event a task, each with a mark of its own that stays when it is written again.
        "len([event for event in __import__('icalendar').Calendar.from_ical(text).walk('VEVENT') "
        "if event.get('STATUS') != 'CANCELLED']) == len(tasks) == len(events)",
        "len(before) == len(tasks) and both == after",
    ],
    "a-managers-budget.ipynb": [
        # The workbook is read as it is and loses nothing.
        "len(BOATS) == len(fleet.vessels) == 8 and len(fleet.items) == len(ITEMS)",
        "abs(fleet.vessels['length_m'] - 0.3048 * BOATS['length_ft']).max() < 1e-9",
        "abs(fleet.items['rated_flow_lpm'].max() - 500 * 3.785411784 / 60) < 1e-6",
        "slips == ['slip', *BOATS['slip']] and jobs == ['job_no', *RECORDS['job_no'], 'W-222']",
        "sum('columns not used' in note for note in fleet.notes) == 2",
        "again.sheetnames == ['vessels', 'items', 'records']",
        # The name that looks like a sum is a name, in the fleet and in the plan's book.
        "fleet.vessels['name'].iloc[2] == '=1+1' and len(named) == 1 and named[0].data_type == 's'",
        "fleet.settings.kill_limit == 5 / 10_000 and fleet.settings.sinking_limit == 5 / 1_000",
        # Sorrel's packing is a defect by what was counted.
        "RECORDS['reading'].dropna().tolist() == [14] and item('B1', 'shaft_packing') in set(defects['item_id'])",
        # The plan keeps to its amount, is within a dollar of the bound, and single tasks overlap.
        "plan.amount == amount == 8_000 and plan.cost <= 8_000 and plan.satisfied",
        "0 <= plan.bound - plan.averted < 1 and plan.averted > plan.before - plan.after > 0",
        "plan.lifts['vessel_id'].is_unique",
        "(plan.vessels.set_index('vessel_id')['loss_before'] > 1.01 * (parts['expected_loss'].sum() "
        "+ result.background['loss'])).loc[['B5', 'B8']].all()",
        "set(BOATS.dropna(subset='day_rate')['name']) == {'Campion', 'Mallow'}",
        "plan.floors['met'].all() and (plan.vessels['sinking_after'] < fleet.settings.sinking_limit).all()",
        "(plan.vessels['loss_after'] < plan.vessels['loss_before']).all()",
        "abs(spent.to_numpy().sum() + lifts.sum() - plan.cost) < 0.005",
        # The book opens elsewhere with heads in sight and units in them, and without a formula.
        "(sheets['formulas'] == 0).all() and (sheets['head stays in sight from'] == 'B2').all()",
        "'USD' in sheets.loc['work', 'heads'] and 'hours' in sheets.loc['work', 'heads']",
        # More money never averts less; the curve bends from many times the cost to less than it.
        "(np.diff(curve['averted']) >= 0).all()",
        "curve['averted'].diff().iloc[first + 1] > 5 * curve['amount'].diff().iloc[first + 1]",
        "curve['averted'].diff().iloc[-1] < curve['amount'].diff().iloc[-1]",
        "plan.shadow_price < 1 and len(following) > 0 and len(late) > 0",
        # Two thousand do not reach, are spent in order, and the rest is kept.
        "little.amount == 2_000 < floors_cost and not little.satisfied and 0 < little.cost < 2_000",
        "little.floors['paid'].is_monotonic_decreasing and (little.frame['reason'] != 'money').all()",
        "__import__('riskmodel.cli.budget', fromlist=['x']).FLOORS_NOT_MET == 5",
    ],
    "an-insurers-year.ipynb": [
        # Forty-eight boats without one list of parts: all of it rests on defaults, until three questions are asked.
        "len(schedule) == len(came.fleet.vessels) == 48 and len(came.fleet.items) > 0",
        "list(schedule) == ['vessel_id', 'built_year', 'length_m', 'propulsion', 'value', 'home_port']",
        "set(shares['as it came'].values()) == {1.0}",
        "shares['after three questions'] == {'outfit': 1.0, 'ages': 1.0, 'circumstances': 0.0, 'any': 1.0}",
        "abs(exposure.before.total.mean / before_asking.before.total.mean - 1) > 0.02",
        # Process and parameter add up as squares; the mean adds up by hand; rank says a little more.
        "abs(total.process_sd**2 + total.parameter_sd**2 - total.sd**2) < 1e-6 * total.sd**2",
        "abs(by_boat.sum() / total.mean - 1) < 1e-9 and abs(total.pmf @ total.losses / total.mean - 1) < 1e-6",
        "0 <= exposure.ranked / exposure.before.total.mean - 1 < 0.001",
        # Two boats by sums and np.convolve: the same, to within a bin.
        "len(pair) == 2 and abs(convolved.sum() - 1) < 1e-9",
        "(compared['by hand'] - compared['by the library']).abs().max() < step",
        # The largest loss never exceeds the total; the rarer the year, the nearer they lie; the bands are wide.
        "(table['largest'] < table['total']).all()",
        "(np.diff(table['largest'] / table['total']) > 0).all()",
        "(table['total_high'] > 1.3 * table['total_low']).all()",
        "exposure.after.total.mean < exposure.before.total.mean and terms.deductible == 1_000",
        # The worst years are another list than the mean; whatever the book is cut by, the pieces add up to it.
        "(pieces.drop('the book') - pieces.loc['the book']).abs().max().max() < 0.01",
        "found.segments['item_class'].sort_values('worst', ascending=False)['segment'].iloc[0] "
        "!= found.segments['item_class']['segment'].iloc[0]",
        "found.segments['age']['share'].iloc[-1] "
        "> found.segments['age']['value'].iloc[-1] / schedule['value'].sum()",
        # A month without visits costs far more than a week without power, in every harbour.
        "(places['nobody_comes'] - places['nobody_comes_usual'] "
        "> 3 * (places['power_cut'] - places['power_cut_usual'])).all()",
        "(places['nobody_comes_sinkings'] > 1.2 * places['nobody_comes_sinkings_usual']).all()",
        "places['value'].is_monotonic_decreasing and len(places) == len(HARBOURS)",
        # Four in five keep a condition; no credit that breaks even pays for it; fuel hose is about people.
        "wanted.compliance == 0.8 and wanted.visit_cost == 15",
        "all(each.mean_after < each.mean_before and each.tail_after < each.tail_before for each in found.conditions)",
        "all(each.credit < each.cost / (each.compliance * each.boats) for each in found.conditions)",
        "10 * found.conditions[0].credit < found.conditions[0].cost / (0.8 * found.conditions[0].boats)",
        "not (found.exposure.result.standing['age_years'].notna()).any()",
        "fuel['expected_loss'].sum() < 0.05 * result.frame['expected_loss'].sum()",
        "fuel['kill_probability'].sum() > 0.2 * result.frame['kill_probability'].sum()",
        # Who says nothing of visits is taken to come weekly.
        "unasked.boats == 0 and abs(unasked.mean_before - unasked.mean_after) < 0.01",
    ],
}


def run(path: Path) -> nbformat.NotebookNode:
    """The notebook executed afresh, with its claims asserted in a last cell."""
    notebook = nbformat.read(path, as_version=4)
    claims = "\n".join(f"assert {claim}, {claim!r}" for claim in CLAIMS[path.name])
    notebook.cells.append(nbformat.v4.new_code_cell(claims))
    return NotebookClient(
        notebook, timeout=LONGEST_CELL, kernel_name="python3", resources={"metadata": {"path": FOLDER}}
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


@pytest.mark.parametrize(
    "path",
    [
        pytest.param(each, marks=pytest.mark.thorough if each.name in LONG else (), id=each.name)
        for each in NOTEBOOKS
    ],
    indirect=True,
)
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
