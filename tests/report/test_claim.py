"""What a limit from rounded readings less the rig is worth, in settings."""

from itertools import pairwise

import pytest
from scipy.stats import chi2

from hostctl.metrology.claims.tolerance import ratio_quantile
from hostctl.report.analysis.claim import _worth

RISKS = [1e-6, 0.025, 0.05, 0.499]


@pytest.mark.parametrize("risk", RISKS)
def test_the_limit_falls_with_every_setting_more(risk):
    # A claim's confidence is above 0.5, so its risk is below 0.5; quantiles by scipy.
    limits = [1.0 / ratio_quantile(risk, df) for df in range(1, 200)]
    by_scipy = [(df / chi2.ppf(risk, df)) ** 0.5 for df in range(1, 200)]
    assert limits == pytest.approx(by_scipy, rel=1e-9)
    assert all(after < before for before, after in pairwise(limits))


@pytest.mark.parametrize("risk", RISKS)
@pytest.mark.parametrize("n", [2, 7, 150])
@pytest.mark.parametrize("times_likely", [1.0, 1.1, 1.5, 1000.0])
def test_what_a_limit_is_worth_is_what_a_plain_search_finds(n, times_likely, risk):
    likely, high = 0.012, 0.012 * times_likely
    plain = next(
        m for m in range(2, n + 1) if m == n or likely / ratio_quantile(risk, m - 1) <= high
    )
    assert _worth(n, likely, high, risk) == plain


def test_where_nothing_is_likely_every_setting_counts():
    assert _worth(12, 0.0, 0.01, 0.05) == 12
