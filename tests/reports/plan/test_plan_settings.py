"""What `[plan]` in `offcut.toml` says."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from offcut.reports.plan.plan_settings import PlanSettings, PlanSettingsError, plan_settings

D = Decimal


def written(folder: Path, text: str) -> Path:
    (folder / "offcut.toml").write_text(text, encoding="utf-8")
    return folder / "main.beancount"


def test_no_settings_and_none_for_plans(tmp_path: Path) -> None:
    assert plan_settings(tmp_path / "main.beancount") == PlanSettings()
    assert plan_settings(written(tmp_path, '[packing]\nWeb = "letter"\n')) == PlanSettings()


def test_numbers_and_texts_are_exact(tmp_path: Path) -> None:
    ledger = written(
        tmp_path,
        """
        [plan]
        hour = 18.10
        setup-minutes = 30
        lead-weeks = "1.5"
        service = "97.5%"
        keeping = 0.2
        following = "1,200"
        wholesale = "45%"
        """,
    )
    assert plan_settings(ledger) == PlanSettings(
        *(D("18.10"), D(30), D("1.5"), D("0.975"), D("0.2"), D(1200), D("0.45"))
    )


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("hours = 18", "unknown key 'hours' \\(did you mean hour\\?\\)"),
        ("hour = -18", "hour: expected a number such as 4.50, found '-18'"),
        ("hour = true", "hour: expected a number such as 4.50, found 'True'"),
        ("hour = nan", "hour: expected a number such as 4.50"),
        ("service = 95", "service: expected a share such as 50%, above 0% and up to 100%"),
        ("keeping = [1]", "keeping: expected a share"),
    ],
)
def test_mistakes_are_one_line_each(tmp_path: Path, line: str, words: str) -> None:
    with pytest.raises(
        PlanSettingsError, match=f"offcut.toml: \\[plan\\] {words}"
    ) as caught:
        plan_settings(written(tmp_path, f"[plan]\n{line}\n"))
    assert "\n" not in str(caught.value)


def test_all_mistakes_are_named(tmp_path: Path) -> None:
    with pytest.raises(PlanSettingsError) as caught:
        plan_settings(written(tmp_path, '[plan]\nhour = ""\nservise = 1\n'))
    assert len(str(caught.value).splitlines()) == 2


def test_no_table_and_no_toml(tmp_path: Path) -> None:
    with pytest.raises(PlanSettingsError, match="expected a table, begun with \\[plan\\]"):
        plan_settings(written(tmp_path, "plan = 3\n"))
    with pytest.raises(PlanSettingsError, match=r"offcut\.toml: expected TOML in utf-8"):
        plan_settings(written(tmp_path, "[plan\n"))
