"""The analysis as a whole: what it says, what it refuses to say, and how often it is wrong."""

import json
import math
import re
from array import array
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from hostctl.errors import DataError
from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.basis.reference import Reference
from hostctl.metrology.claims.looks import ONE_LOOK, Looks
from hostctl.report.analysis.analysis import Wish, analyse
from hostctl.report.analysis.document import ANALYSIS
from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.analysis.result.judgement import Verdict
from hostctl.report.sources.looks import Looking
from hostctl.report.sources.material import Block, Goal, Material, only, together
from hostctl.report.sources.run_material import _of_few, _of_many
from hostctl.report.sources.tables.table_file import Asked, table_material
from hostctl.store.columns import Columns, Group

SEED = 20_251_127
H = 0.01
AIAG = Path(__file__).parents[1] / "data" / "gauge_studies" / "ten_parts_three_appraisers"


def material(
    *blocks: Sequence[float] | Block, reference: Reference = "datum", **changes: object
) -> Material:
    """Blocks of readings in graduations, or whole ones."""
    whole = [
        block
        if isinstance(block, Block)
        else Block(method="light", operator="a", point="p", values_mm=[H * k for k in block])
        for block in blocks
    ]
    known: dict[str, object] = {
        "name": "test",
        "title": "a test",
        "kind": "",
        "machine": "",
        "reference": reference,
        "zero_known": False,
        "resolution_mm": H,
        "resolution_from": "told",
        "blocks": tuple(whole),
        "goal": None,
        "notes": (),
    }
    return Material(**known | changes)  # type: ignore[arg-type]


def sample(rng: np.random.Generator, sigma: float, n: int) -> list[float]:
    """Settings in graduations, rounded, about a mean anywhere within one."""
    return [float(k) for k in np.rint(rng.normal(rng.uniform(), sigma, n))]


def flat(analysis: Analysis) -> str:
    """What it says, line ends aside."""
    return " ".join(ANALYSIS.text(analysis).split())


def verdict(analysis: Analysis) -> Verdict:
    found = analysis.results[0].verdict
    assert isinstance(found, Verdict)
    return found


def study(sigmas: dict[tuple[str, str], float], n: int, points: int = 2) -> Material:
    rng = np.random.default_rng(SEED)
    return material(
        *(
            Block(
                method=method,
                operator=operator,
                point=f"p{number}",
                values_mm=[H * k for k in sample(rng, sigma, n)],
            )
            for (method, operator), sigma in sigmas.items()
            for number in range(points)
        )
    )


@pytest.mark.slow
@pytest.mark.parametrize(("sigma_total", "sigma_rig"), [(1.2, 0.5), (3.0, 1.0)])
@pytest.mark.parametrize("n", [6, 12])
def test_a_claim_that_is_just_false_is_seldom_called_met(sigma_total, sigma_rig, n):
    rng = np.random.default_rng([SEED, n, int(10 * sigma_total)])
    # 1.959964: the half-width of 95 % of a normal law, in sigmas (ISO 2854 and any table)
    goal = Goal(within_mm=0.999 * 1.959964 * (sigma_total**2 - sigma_rig**2) ** 0.5 * H)
    met = sum(
        verdict(
            analyse(
                material(sample(rng, sigma_total, n), sample(rng, sigma_total, n)),
                material(sample(rng, sigma_rig, 21)),
                Wish(goal=goal),
            )
        ).verdict
        == "meets"
        for _ in range(100)
    )
    assert met / 100 <= 0.05 + 3.0 * (0.05 * 0.95 / 100) ** 0.5


@pytest.mark.slow
def test_a_claim_that_is_just_true_is_seldom_refused():
    rng = np.random.default_rng(SEED)
    goal = Goal(within_mm=1.001 * 1.959964 * (3.0**2 - 1.0**2) ** 0.5 * H)
    refused = sum(
        verdict(
            analyse(material(sample(rng, 3.0, 12)), material(sample(rng, 1.0, 21)), Wish(goal=goal))
        ).verdict
        == "does not meet"
        for _ in range(200)
    )
    assert refused / 200 <= 0.05 + 3.0 * (0.05 * 0.95 / 200) ** 0.5


@pytest.mark.parametrize(
    ("sigma", "kind"), [(0.6, "meets"), (2.5, "cannot tell yet"), (8.0, "does not meet")]
)
def test_there_are_three_verdicts(sigma, kind):
    rng = np.random.default_rng(SEED)
    found = analyse(
        material(sample(rng, sigma, 20)),
        material(sample(rng, 0.5, 20)),
        Wish(goal=Goal(within_mm=0.05)),
    )
    assert verdict(found).verdict == kind


def test_the_tables_verdict_is_never_taken_for_a_refusal():
    rng = np.random.default_rng(SEED)
    goal = Wish(goal=Goal(within_mm=0.05))
    found = analyse(material(sample(rng, 1.9, 20)), material(sample(rng, 0.5, 20)), goal)
    more = verdict(found).further_trials
    assert f"  cannot tell (+{more})\n" in ANALYSIS.text(found)
    assert "  cannot tell\n" in ANALYSIS.text(analyse(material(sample(rng, 8.0, 20)), None, goal))


def test_without_a_rig_check_nothing_is_refused_but_much_may_still_be_met():
    rng = np.random.default_rng(SEED)
    goal = Wish(goal=Goal(within_mm=0.05))
    wide = analyse(material(sample(rng, 8.0, 20)), None, goal)
    assert verdict(wide).verdict == "cannot tell yet"
    assert "how much of the band is the rig.s is not known" in flat(wide).replace("'", ".")
    assert verdict(analyse(material(sample(rng, 0.6, 20)), None, goal)).verdict == "meets"
    assert isinstance(wide.results[0].setting, NotYet)


def test_each_verdict_that_names_no_number_of_trials_says_why():
    rng = np.random.default_rng(SEED)
    narrow, middle, wide, wider = (
        Block(method=method, operator="", point="p", values_mm=[H * k for k in sample(rng, s, 20)])
        for method, s in (("narrow", 0.6), ("middle", 1.9), ("wide", 8.0), ("wider", 9.0))
    )
    found = analyse(material(narrow, middle, wide, wider), None, Wish(goal=Goal(within_mm=0.05)))
    said = flat(found)
    assert "No number of further trials is named for wide and wider: the spread, rig in" in said
    assert said.count("No number") == 1
    only_one = analyse(material(wide), None, Wish(goal=Goal(within_mm=0.05)))
    assert "No number" not in flat(only_one)


def test_without_a_rig_the_verdicts_table_has_no_column_for_the_setting_alone():
    rng = np.random.default_rng(SEED)
    settings, rig = material(sample(rng, 1.9, 20)), material(sample(rng, 0.5, 20))
    goal = Wish(goal=Goal(within_mm=0.05))
    without, beside = flat(analyse(settings, None, goal)), flat(analyse(settings, rig, goal))
    assert "Held against the tolerance, mm (rig included, ± from" in without
    assert "s alone" not in without
    assert "The settings themselves, mm (± from" in beside
    assert "s alone" in beside


def test_a_probe_is_judged_by_its_own_readings():
    rng = np.random.default_rng(SEED)
    touches = material(sample(rng, 8.0, 20), kind="probe-loop")
    found = analyse(touches, None, Wish(goal=Goal(within_mm=0.05)))
    assert verdict(found).verdict == "does not meet"
    assert "no rig check" not in flat(found)


def test_more_looks_ask_for_more():
    readings = material([-3, 1, 0, 2, -1, 2, -2, 0, 1, 3, -1, 0, 1, -2, 0])
    rig = material([0, 1, 0, 0, -1, 0, 0, 1])
    reaches = [
        analyse(readings, rig, Wish(goal=Goal(within_mm=0.05), look=look)).results[0].verdict
        for look in (Looking(looks=ONE_LOOK), Looking(looks=Looks(declared=3)))
    ]
    assert reaches[0].half_width.high < reaches[1].half_width.high


def test_a_rig_that_scatters_more_than_the_study_is_not_taken_out():
    found = analyse(
        material([0, 0, 1, 0, -1, 0, 0, 1, 0, 0]), material([-9, 8, 3, -5, 9, -8, 2, -4]), Wish()
    )
    assert isinstance(found.results[0].setting, NotYet)
    assert "repeat the rig check" in flat(found)


PRACTISED_ONLY = {
    ("light", "practised"): 2.0,
    ("paper", "practised"): 2.0,
    ("light", "new"): 2.0,
    ("paper", "new"): 8.0,
}


def test_as_good_in_practised_hands_and_not_in_new_ones_can_be_stated():
    said = flat(analyse(study(PRACTISED_ONLY, 300), None, Wish()))
    assert "paper against light: " in said
    assert "as good in the hands of practised" in said
    assert "scatters more in the hands of new" in said
    assert "so hands matter (what counts: a factor 1.5)" in said


def test_and_it_can_be_denied():
    alike = dict.fromkeys(PRACTISED_ONLY, 2.0)
    said = flat(analyse(study(alike, 300), None, Wish()))
    assert "as good in the hands of practised" in said
    assert "hands make no difference that counts" in said


def test_or_left_open():
    said = flat(analyse(study(dict.fromkeys(PRACTISED_ONLY, 2.0), 5), None, Wish()))
    assert "whether hands matter cannot be told yet" in said


def test_the_measurement_systems_manuals_study_comes_out_of_its_table():
    # AIAG, Measurement Systems Analysis, 4th ed. (2010), III B: the source stands beside the file
    published = json.loads(AIAG.with_suffix(".json").read_text())["published"]
    found = analyse(table_material(AIAG.with_suffix(".csv"), Asked()), None, Wish())
    data = ANALYSIS.data(found)["crossed"][0]
    components = published["anova_components_pooled"]
    assert data["points"] == 10
    assert data["figures"]["ev"] == pytest.approx(components["sd_EV"], abs=5e-6)
    assert data["figures"]["grr"] == pytest.approx(components["sd_GRR"], abs=5e-6)
    assert data["figures"]["pv"] == pytest.approx(components["sd_PV"], abs=5e-6)
    shares = data["figures"]["percent_of_total"]
    assert shares["grr"] == pytest.approx(components["pct_GRR"], abs=0.05)
    assert "10 points play the parts, 3 operators" in ANALYSIS.text(found)


def test_the_manuals_table_of_variance_is_in_the_explanation():
    # the same source: SS, df, MS; its F of the interaction, 0.434
    published = json.loads(AIAG.with_suffix(".json").read_text())["published"]["anova"]
    found = analyse(table_material(AIAG.with_suffix(".csv"), Asked()), None, Wish())
    rows = {
        line[:20].strip(): line[20:].split()
        for line in ANALYSIS.text(found, explained=True).splitlines()
        if line.startswith(("points  ", "operators  ", "operators x", "repeatability  "))
        and len(line[20:].split()) >= 3
    }
    for row, name in (
        ("points", "part"),
        ("operators", "appraiser"),
        ("repeatability", "equipment"),
    ):
        line = published[name]
        assert rows[row][:3] == [str(line["df"]), f"{line['ss']:.4g}", f"{line['ms']:.4g}"]
    assert rows["operators x points"][3] == "0.4337"
    assert round(float(rows["operators x points"][3]), 3) == published["interaction"]["F"]


def test_blocks_with_zeros_of_their_own_make_no_gauge_study():
    own = study(PRACTISED_ONLY, 5)
    found = analyse(material(*own.blocks, reference="first"), None, Wish())
    said = flat(found)
    assert "No gauge study of light and paper: each block has a zero of its own" in said


def test_an_outlier_is_named_with_and_without_and_stays():
    readings = [0, 1, -1, 2, 0, -2, 1, 0, 1, 30, -1, 0]
    found = analyse(material(readings), None, Wish())
    (odd,) = found.oddities
    assert [(one.block, one.place) for one in odd.outliers] == [(0, 9)]
    assert odd.spread_without_outliers.quoted.value < found.results[0].spread.quoted.value / 3
    assert found.results[0].spread.n == 12
    assert "+0.3000 mm (reading 10, block 1 at p)" in flat(found)


def test_with_zeros_as_settings_the_zero_can_be_the_outlier():
    found = analyse(
        material([20, 21, 19, 20, 22, 18, 20, 21, 19, 20], reference="first"), None, Wish()
    )
    assert "(its zero, block 1 at p)" in flat(found)


def test_a_drift_is_seen_and_named():
    found = analyse(material([k // 2 for k in range(24)]), None, Wish())
    assert found.oddities[0].drifts
    assert "readings drift within their blocks, +0.0050 mm a setting" in flat(found)


def test_a_warm_up_is_seen_and_named():
    found = analyse(material([9, 8, 9, 8, *([0, 1, 0, -1, 1, 0, -1] * 4)]), None, Wish())
    assert "warm-up: the first 4 trials of 32" in flat(found)


def test_off_a_datum_a_claim_has_to_hold_in_each_block():
    """Three of fifteen settings lie outside: the mean over all points would have hidden it."""
    near, far = [1, 0, -1, 0, 1, 0, -1, 0, 0, 1], [13, 12, 13, 14, 13, 12, 13, 13, 14, 12]
    blocks = [
        Block(method="light", operator="a", point=point, values_mm=[H * k for k in steps])
        for point, steps in (("left", near), ("right", near), ("back", far), ("front", near))
    ]
    wish = Wish(goal=Goal(within_mm=0.1))
    found = analyse(material(*blocks, zero_known=True), material([0, 1, -1, 0, 1, 2] * 5), wish)
    (result,) = found.results
    assert isinstance(result.verdict, Verdict)
    assert result.verdict.verdict == "does not meet"
    assert result.verdict.why.numbers["blocks"] == 4
    said = " ".join(ANALYSIS.text(found, explained=True).split())
    assert "in the worst block, back (3 of 4), with the mean of 10 settings off by +0.1290" in said
    assert "the claim has to hold in each block: the worst one decides" in said
    assert ANALYSIS.data(found)["results"][0]["verdict"]["worst_block"] == "back (3 of 4)"


def test_off_a_datum_the_bias_counts_in_the_verdict():
    readings = [6, 7, 6, 5, 6, 7, 6, 5, 6, 6, 5, 7]
    wish = Wish(goal=Goal(within_mm=0.05))
    rig = material([0, 1, 0, -1, 0, 0, 1, 0, 0, 0])
    assert verdict(analyse(material(readings), rig, wish)).verdict == "meets"
    off = analyse(material(readings, zero_known=True), rig, wish)
    assert verdict(off).verdict == "does not meet"
    assert "On average they are off by +0.0600 mm" in flat(off)
    mean = off.results[0].off
    half = (mean.high - mean.low) / 2
    assert f"+0.0600 ±{half:.4f}" in flat(off)
    # Student's, and half a step of the mean more, as readings are rounded
    student = stats.t.ppf(0.975, 11) * np.std(readings, ddof=1) * H / 12**0.5
    assert half == pytest.approx(student + H / 24, rel=0.02)


AWKWARD = {
    "constant": material([3] * 12),
    "one reading": material([3]),
    "two readings": material([3, 5]),
    "neighbours": material([3, 4, 3, 3, 4]),
    "one zeroed reading": material([3], reference="first"),
    "differences": material([3, -2, 1, 0, -4, 2], reference="previous"),
    "blocks of one": material([3], [4], [5]),
    "one and many": material([3], [4, 6, 1, 2, 5]),
    "far away": material([10_000_003, 10_000_001, 10_000_002, 10_000_005]),
    "wide": material([k * 997 % 1001 for k in range(50)]),
    "a bound beside a figure": material(
        *study({("light", "a"): 0.05, ("paper", "a"): 3.0}, 8).blocks
    ),
    "one block against many": material(
        *study({("light", "a"): 2.0}, 3, 1).blocks, *study({("paper", "a"): 2.0}, 8).blocks
    ),
}


@pytest.mark.parametrize("name", AWKWARD)
@pytest.mark.parametrize("rig", [None, "constant", "neighbours", "two readings"])
def test_awkward_readings_get_a_right_answer_or_a_reason(name: str, rig: str | None):
    found = analyse(AWKWARD[name], AWKWARD[rig] if rig else None, Wish(goal=Goal(within_mm=0.05)))
    said = json.dumps(ANALYSIS.data(found), allow_nan=False)
    text = ANALYSIS.text(found, explained=True)
    assert "NaN" not in said
    assert not {"nan", "inf", "NotYet", "None"} & set(text.replace(",", " ").split())


def test_a_rig_check_of_one_reading_is_refused():
    with pytest.raises(DataError, match="Give another rig check"):
        analyse(AWKWARD["wide"], AWKWARD["one reading"], Wish())


def test_json_gives_every_estimate_its_interval_n_and_source():
    data = ANALYSIS.data(analyse(AWKWARD["wide"], AWKWARD["neighbours"], Wish()))
    spread = data["results"][0]["spread"]["likelihood"]
    assert set(spread) == {"value", "interval", "n", "how", "source"}
    assert data["results"][0]["verdict"] is None
    bounded = ANALYSIS.data(analyse(AWKWARD["constant"], None, Wish()))["results"][0]
    assert "too small for this resolution" in bounded["spread"]["likelihood"]["not_yet"]
    assert bounded["setting"]["not_yet"].startswith("there is no rig check")


def test_the_formulas_hold_this_datas_numbers():
    readings, rig = [0, 2, -1, 3, 1, -2, 0, 1], [0, 1, 0, -1, 0, 1, 0, 0]
    found = analyse(material(readings), material(rig), Wish(goal=Goal(within_mm=0.05)))
    said = ANALYSIS.text(found, explained=True)
    # by hand: mean 0.5, squares 0.25+2.25+2.25+6.25+0.25+6.25+0.25+0.25 = 18, times 0.01 squared
    assert "S = 0.0018 mm²" in said
    assert "√(0.0018 / 7) = 0.0160 mm" in said
    # chi-square on 7 degrees of freedom: 16.01 and 1.690, any table
    assert "χ² = 16.01 and 1.69: 0.0106 to 0.0326 mm" in said
    assert "σ that makes these readings likeliest: s = " in " ".join(said.split())
    assert "tolerance ±0.05 mm: meets at or above the larger" in said
    # ISO 5725-6:1994, 4.1.4: 2.8 standard deviations (from memory)
    limit = ANALYSIS.data(found)["results"][0]["repeatability_limit"]
    quoted = ANALYSIS.data(found)["results"][0]["spread"]["likelihood"]
    assert limit["value"] == pytest.approx(2.8 * quoted["value"])
    assert limit["interval"]["high"] == pytest.approx(2.8 * quoted["interval"]["high"])
    assert f"r = 2.8 s = {limit['value']:.4f} mm" in " ".join(said.split())


def test_the_formulas_of_differences_can_be_done_again_by_hand():
    found = analyse(material([3, -2, 1, 0, -4, 2], reference="previous"), None, Wish())
    said = " ".join(ANALYSIS.text(found, explained=True).split())
    # by hand: mean 0, squares 9+4+1+0+16+4 = 34; c = 2 (6 - 1/6) = 11.67; h of one is h / √2
    assert "S = 0.0034 mm²" in said
    assert "s = √(S / c) = √(0.0034 / 11.67) = 0.0171 mm; f by Satterthwaite" in said
    assert "√(s² − h²/24) = √(0.01707² − 0.01²/24) = 0.0169 mm" in said
    assert "likeliest, over √2: s = " in said


def test_the_rig_is_taken_out_with_digits_enough_to_do_it_again():
    found = analyse(material([0, 2, -1, 3, 1, -2, 0, 1]), material([0, 1, -1, 0, 2, 0]), Wish())
    said = " ".join(ANALYSIS.text(found, explained=True).split())
    shown = re.search(r"rig out: √\(s² − rig²\) = √\(([\d.]+)² − ([\d.]+)²\) = ([\d.]+) mm", said)
    total, rig, setting = map(float, shown.groups())
    assert math.sqrt(total**2 - rig**2) == pytest.approx(setting, abs=0.00005)


def test_a_rig_of_which_only_a_bound_is_known_is_said_to_be_one():
    found = analyse(material([0, 2, -1, 3, 1, -2, 0, 1]), material([0] * 8), Wish())
    said = " ".join(ANALYSIS.text(found, explained=True).split())
    assert "(of the rig no more than a bound is known; its likeliest figure is 0)" in said


def test_several_are_taken_as_one_only_where_they_can_be():
    both = together([AWKWARD["wide"], AWKWARD["constant"]])
    assert (both.readings, len(both.blocks)) == (62, 2)
    with pytest.raises(DataError, match="one by one"):
        together([AWKWARD["wide"], AWKWARD["differences"]])
    with pytest.raises(DataError, match="the resolution"):
        together([AWKWARD["wide"], material([1, 2], resolution_mm=0.02)])


def test_one_method_or_operator_can_be_picked():
    whole = study(PRACTISED_ONLY, 3)
    assert {b.method for b in only(whole, "paper", None).blocks} == {"paper"}
    with pytest.raises(DataError, match="There is: light, paper"):
        only(whole, "glass", None)


def test_many_readings_of_a_run_become_the_same_blocks_as_few():
    groups = [Group(block=k, round=1, method="m", operator=f"o{k}", point="p") for k in range(3)]
    rows = [(k % 3, 0.01 * k, k == 0, k == 4) for k in range(12)] + [(2, float("nan"), 0, 0)]
    columns = Columns(
        value_mm=array("d", [value for _, value, _, _ in rows]),
        relative_mm=array("d", [value for _, value, _, _ in rows]),
        group=array("i", [group for group, _, _, _ in rows]),
        trial=array("i", range(len(rows))),
        is_zero=array("b", [int(zero) for _, _, zero, _ in rows]),
        void=array("b", [int(void) for _, _, _, void in rows]),
        groups=groups,
    )
    few, many = _of_few(columns), _of_many(columns)
    assert [(at, [float(value) for value in values]) for at, values in many] == [
        (at, list(values)) for at, values in few
    ]
    assert [len(values) for _, values in few] == [3, 3, 4]


@pytest.mark.parametrize(
    ("kind", "told"),
    [("comparison", "hand, method and rig together"), ("rig-check", "nothing set by hand")],
)
def test_what_was_read_is_said_to_hold_what_it_holds(kind: str, told: str):
    found = analyse(material([0, 1, 2, 1, 0, 3], kind=kind), None, Wish())
    assert f"What was read, mm ({told}, about its own average)" in ANALYSIS.text(found)


def test_the_heading_of_a_file_names_it_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.chdir(tmp_path)
    path = Path("out.csv")
    path.write_text("reading\n0.01\n0.02\n0.00\n0.01\n")
    said = ANALYSIS.text(analyse(table_material(path, Asked()), None, Wish()))
    assert re.search(r"^out\.csv$", said, re.MULTILINE)
    assert "out.csv: " not in said.split("What was read")[0]
