"""Work out the profit that is taxed, which is not the profit that the shop is run by.

    net income of the books
    + expenses that are not deductible, or on no line of the form yet
    + the share of meals that is not deducted; the vehicle's costs where its miles count
    - the mileage allowance, equipment as elected, the room at home
    = profit for tax

Each difference is a step of the reconciliation, and what it leads to must be what the
form's own lines come to. What the owner draws is equity and in neither.
"""

from __future__ import annotations

import decimal
from collections.abc import Iterable, Mapping
from decimal import Decimal

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.period import Period
from offcut.reports.tax.account_flows import AccountFlows
from offcut.reports.tax.equipment import deducted
from offcut.reports.tax.form_amounts import form_amounts
from offcut.reports.tax.form_schema import BESIDE, NONE
from offcut.reports.tax.home_office import office_claim
from offcut.reports.tax.mileage_allowance import car_claim
from offcut.reports.tax.rules import Rules
from offcut.reports.tax.tax_lines import COST_OF_GOODS, TaxLines, line_of
from offcut.reports.tax.tax_profit import Claims, OnLine, Step, TaxProfit
from offcut.reports.tax.yearly_claims import DEPRECIATION, OFFICE, is_by_area

CAR = "car"
INCOME, DEDUCTION, COST = "income", "deduction", "cost"
MONTHS = 12


def profit_for_tax(
    flows: AccountFlows, lines: TaxLines, rules: Rules, period: Period, claims: Claims
) -> TaxProfit:
    """Return the profit for tax.

    Args:
      flows: What was posted to the accounts, over the period at least.
      lines: Which line each account stands on.
      rules: The rules of the year.
      period: The days: the rules' year, or a part of it.
      claims: What is deducted beside what was posted.

    Raises:
      RulesError: The rules do not have a figure that a claim is worked out by.
    """
    with decimal.localcontext(EXACT):
        return _profit(flows, lines, rules, period, claims)


def _profit(
    flows: AccountFlows, lines: TaxLines, rules: Rules, period: Period, claims: Claims
) -> TaxProfit:
    accounts = tuple(_accounts(flows, lines, period))
    part = part_of_year(rules, period)
    sides = {each.key: each.side for each in reversed(rules.form) if each.side}
    net_income = sum((_as_income(each) for each in accounts), ZERO)
    posted = _by_word(accounts, sides)
    steps = [
        Step(_left_out(each), -_as_income(each), each.account)
        for each in accounts
        if each.posted and (each.key == NONE or (rules.form and not each.key))
    ]
    amounts = {key: posted.get(key, ZERO) for key, side in sides.items() if side != COST}
    steps += _take_shares(rules, amounts)

    cost_keys = [key for key, side in sides.items() if side == COST]
    amounts.update({key: posted.get(key, ZERO) for key in cost_keys})
    if COST_OF_GOODS in sides:
        lost = _packing_lost(flows, lines, period, claims.packing)
        beside = lines.of_packaging()
        if lost and beside:
            amounts[COST_OF_GOODS] -= lost
            amounts[beside] += lost
        amounts[COST_OF_GOODS] += sum((amounts[key] for key in cost_keys), ZERO)

    spent = amounts.get(CAR, ZERO)
    car = car_claim(claims.trips, rules, claims.mileage, period, spent)
    if CAR in sides:
        if car.by_rate:
            amounts[CAR] = car.allowance
            if spent:
                steps.append(Step("Costs of the vehicle: its miles count", spent))
            if car.allowance:
                steps.append(Step("Mileage allowance", -car.allowance))
        amounts[CAR] += posted.get(BESIDE[CAR], ZERO)

    bought = tuple(
        (each, deducted(each, rules, period, part) if DEPRECIATION in sides else ZERO)
        for each in claims.equipment
        if period.last is None or each.date <= period.last
    )
    written_off = sum((amount for _, amount in bought), ZERO)
    if written_off:
        amounts[DEPRECIATION] += written_off
        steps.append(Step("Equipment, as you elected", -written_off))

    office_spent = amounts.pop(OFFICE, ZERO)
    before = _profit_of(amounts, sides)
    office = office_claim(claims.office, rules, part, office_spent, before)
    if OFFICE in sides:
        amounts[OFFICE] = office.amount
        if office_spent and office.amount != office_spent:
            steps.append(Step("Costs of the room at home, as posted", office_spent))
            steps.append(Step("The room at home, as deducted", -office.amount))
        elif office.amount != office_spent:
            steps.append(Step("The room at home", -office.amount))

    by_area = office.amount if is_by_area(claims, rules, sides) else ZERO
    return TaxProfit(
        rules=rules,
        period=period,
        lines=form_amounts(rules.form, amounts),
        accounts=accounts,
        steps=tuple(steps),
        net_income=net_income,
        profit=net_income + sum((each.amount for each in steps), ZERO),
        once=written_off + by_area,
        car=car,
        office=office,
        equipment=bought,
        notes=(*car.notes, *office.notes),
    )


def part_of_year(rules: Rules, period: Period) -> Decimal:
    """Return which part of a year a period is, in whole months of twelve.

    Args:
      rules: The rules.
      period: The days; an open end is the year's.
    """
    first, last = period.first or rules.first, period.last or rules.last
    if (first, last) == (rules.first, rules.last):
        return Decimal(1)
    days, year = (last - first).days + 1, (rules.last - rules.first).days + 1
    return min(Decimal(round(Decimal(days * MONTHS) / year)) / MONTHS, Decimal(1))


def _accounts(flows: AccountFlows, lines: TaxLines, period: Period) -> Iterable[OnLine]:
    """Yield the accounts that were posted to, with their lines."""
    for account, amount in flows.posted(period).items():
        line = lines[account]
        if line is not None and amount:
            yield OnLine(
                account,
                line.key,
                -amount if line.is_income else amount,
                line.is_income,
                line.declared,
                line.catches_all,
            )


def _by_word(accounts: Iterable[OnLine], sides: Mapping[str, str]) -> dict[str, Decimal]:
    """Return the sums of the accounts by `tax-line`, as the form has them."""
    sums: dict[str, Decimal] = {}
    for each in accounts:
        if each.key not in ("", NONE):
            amount = _as_income(each)
            if sides.get(line_of(each.key)) != INCOME:
                amount = -amount
            sums[each.key] = sums.get(each.key, ZERO) + amount
    return sums


def _take_shares(rules: Rules, amounts: dict[str, Decimal]) -> Iterable[Step]:
    """Cut lines of which a share is deducted to it, and yield what is left out."""
    steps = []
    for line in rules.form:
        if not line.share or not amounts.get(line.key):
            continue
        whole = amounts[line.key]
        amounts[line.key] = whole * rules.figure(line.share, rules.statuses[0])
        left = whole - amounts[line.key]
        if line.side == INCOME:
            left = -left
        steps.append(Step(f"{line.caption}: the share that does not count", left))
    return steps


def _packing_lost(
    flows: AccountFlows, lines: TaxLines, period: Period, packing: frozenset[str]
) -> Decimal:
    """Return the part of the cost of goods that is of envelopes and the like: lost ones."""
    lost = ZERO
    for (account, item), amount in flows.stock_borne(period).items():
        line = lines[account]
        if item in packing and line is not None and line.key == COST_OF_GOODS:
            lost += amount
    return lost


def _profit_of(amounts: Mapping[str, Decimal], sides: Mapping[str, str]) -> Decimal:
    """Return the profit of the lines; costs that are parts of another line are in it."""
    return sum(
        (
            amount if sides[key] == INCOME else -amount
            for key, amount in amounts.items()
            if sides[key] != COST
        ),
        ZERO,
    )


def _as_income(each: OnLine) -> Decimal:
    return each.posted if each.is_income else -each.posted


def _left_out(each: OnLine) -> str:
    if each.key == NONE:
        return "Not taxed" if each.is_income else "Not deductible"
    return "On no line of the form yet"
