"""The checks of the estimators find a figure that is off by one in ten thousand."""

import os
import pathlib

import pytest

import estimators
import estimators_in_r
import estimators_of_time
from report import Check

ROOT = pathlib.Path(__file__).resolve().parents[2]
ESTIMATE = os.environ.get("ESTIMATE", str(ROOT / "target/release/examples/estimate"))


class Falsified:
    """The program, with one figure of its answer off."""

    def __init__(self, path):
        self.program = estimators.Program(ESTIMATE)
        self.path = path

    def __call__(self, what, frame):
        answer = self.program(what, frame)
        if self.path:
            place = answer
            for step in self.path[:-1]:
                place = place[step]
            place[self.path[-1]] *= 1.0001
        return answer


CASES = [
    (estimators.conditional_logit, ["one_way", "coefficients", 2]),
    (estimators.conditional_logit, ["two_ways", "covariance", 0, 1]),
    (estimators.conditional_logit, ["two_ways", "clustered", 2, 2]),
    (estimators.models, ["one_way", "coefficients", 1]),
    (estimators.models, ["two_ways", "clustered", 1, 1]),
    (estimators.models, ["standardised", "without"]),
    (estimators.models, ["standardised_two_ways", "ratio", 1, 2]),
    (estimators_of_time.trend, ["logit", "slope"]),
    (estimators_of_time.trend, ["plain", "departure", 0]),
    (estimators_of_time.hazard, ["ratio", "se"]),
    (estimators_of_time.hazard, ["rates", 3, 2]),
    (estimators_of_time.incidence, [4, 2, 1, 0]),
    (estimators_of_time.incidence, [7, 2, 0, 1, 2]),
]


@pytest.mark.parametrize("check, path", CASES)
def test_falsified(check, path, monkeypatch):
    monkeypatch.setattr(Check, "total_differences", 0)
    check(Falsified(path))
    assert Check.total_differences > 0


@pytest.mark.parametrize("check", dict.fromkeys(check for check, _ in CASES))
def test_as_it_is(check, monkeypatch):
    monkeypatch.setattr(Check, "total_differences", 0)
    check(Falsified(None))
    assert Check.total_differences == 0


IN_R = [
    (estimators_in_r.conditional_logit, ["one_way", "covariance", 0, 1]),
    (estimators_in_r.clusters, ["two_ways", "clustered", 1, 1]),
    (estimators_in_r.hazard, ["ratio", "se"]),
]


@pytest.mark.skipif(not estimators_in_r.installed(), reason="R not installed")
@pytest.mark.parametrize("check, path", IN_R)
def test_falsified_beside_r(check, path, monkeypatch):
    test_falsified(check, path, monkeypatch)
