"""Faults put into the code: what is asked of the tool that does it, and how it is told."""

from __future__ import annotations

import tomllib

from house import mutants

RESULTS = """
    engine.plan.size.x_rounded__mutmut_1: killed
    engine.plan.size.x_rounded__mutmut_2: survived
    engine.plan.size.x_rounded__mutmut_3: timeout
    engine.plan.gauge.xǁCountǁper__mutmut_1: no tests
"""


def test_what_is_asked_for_is_in_the_settings() -> None:
    """Modules and tests stand in the tool's own table, which is TOML."""
    text = mutants.table(["engine/plan/size.py"], ["tests/engine/plan"], ["shared", "main.py"])
    settings = tomllib.loads(text)["tool"]["mutmut"]
    assert settings["only_mutate"] == ["engine/plan/size.py"]
    assert settings["pytest_add_cli_args_test_selection"] == ["tests/engine/plan"]
    assert settings["also_copy"] == ["shared", "main.py"]


def test_every_verdict_counts() -> None:
    """What a test fails on or never comes back from is killed; all else, also untested, is not."""
    found = mutants.verdicts(RESULTS)
    assert [verdict for _, verdict in found] == ["killed", "survived", "timeout", "no tests"]
    assert mutants.summary(found) == [
        "engine.plan.gauge: 0 of 1 killed (0%)",
        "engine.plan.size: 2 of 3 killed (67%)",
        "all: 2 of 4 killed (50%)",
    ]


def test_all_modules_and_tests_that_are_named_are_there() -> None:
    """Every pattern of the usual round finds a module, and every test path is there."""
    assert all(list(mutants.ROOT.glob(pattern)) for pattern in mutants.MODULES)
    assert all((mutants.ROOT / path).exists() for path in mutants.TESTS)
