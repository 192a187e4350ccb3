"""Search for the activities of carbon and nitrogen that balance a steel."""

from __future__ import annotations

from math import inf, log
from operator import mul

from advisor.errors import OutOfRangeError
from advisor.metallurgy.balance import Balance
from advisor.metallurgy.carbide_constants import Pair
from advisor.metallurgy.composition import FIELD
from advisor.metallurgy.flash import Vector, solve_linear
from advisor.metallurgy.roots import newton_pair, rising_root

_TOLERANCE = 1e-6
_CARBON_START, _CARBON_RANGE = -2.2, (-20.0, 3.0)
_STEPS = 25
_UNBALANCED = 2e-3
_LONGEST = 1.0
_TOO_MUCH = (10.0, 0.0)
_FULLEST = 0.9


def settle(balance: Balance) -> None:
    """Bring ``balance`` to the state that holds the steel's carbon and nitrogen.

    Without nitrogen this is one bracketed root.  With it, Newton steps in both activities settle most
    steels; where two carbides or nitrides of like composition take turns, Newton steps in the amounts as
    well; the nested root search is slow and sure.

    Raises:
        OutOfRangeError: the search ends at the limit of an activity with carbon or nitrogen left over.
    """
    if balance.with_nitrogen:
        if _settle_together(balance) or _settle_coexisting(balance):
            return
        middle = sum(balance.constants.log_nitrogen_activity) / 2.0
        balance.share_metals(_CARBON_START, middle)
    rising_root(lambda log_c: _carbon(balance, log_c), _CARBON_START, _CARBON_RANGE, _TOLERANCE)
    if not _balanced(balance):
        # at an invariant (as with iron, carbon and cementite alone) the contents jump with the activity
        sums = _sums(balance)
        balance.amounts = [
            min(max(n, 0.01), 0.3) if abs(g) < 1e-4 else n for n, g in zip(balance.amounts, sums, strict=True)
        ]
        if _settle_coexisting(balance):
            return
    _check(balance, "carbon", balance.carbon_held, balance.total_c)
    if balance.with_nitrogen:
        _check(balance, "nitrogen", balance.nitrogen_held, balance.total_n)


def _balanced(balance: Balance) -> bool:
    carbon = abs(balance.carbon_held / balance.total_c - 1.0)
    nitrogen = abs(balance.nitrogen_held / balance.total_n - 1.0) if balance.with_nitrogen else 0.0
    return not balance.overfull and carbon < _UNBALANCED and nitrogen < _UNBALANCED


def _sums(balance: Balance) -> Vector:
    """Return how far each family is from saturation: 0 where it can be present, less where it cannot."""
    return [sum(map(mul, row, balance.x)) for row in balance.excess]


def _check(balance: Balance, name: str, held: float, wanted: float) -> None:
    if balance.overfull or abs(held / wanted - 1.0) > _UNBALANCED:
        raise OutOfRangeError(
            f"austenite and carbides of these metals cannot hold that much {name}",
            field=FIELD,
            hint=f"check {name}, chromium and vanadium; such a steel is outside the model",
        )


def _carbon(balance: Balance, log_c: float) -> Pair:
    """Return ln(carbon held / carbon of the steel) and its slope, nitrogen being balanced."""
    if balance.with_nitrogen:
        limits = balance.constants.log_nitrogen_activity
        rising_root(lambda x: _nitrogen(balance, log_c, x), balance.log_n, limits, 0.1 * _TOLERANCE)
    else:
        balance.share_metals(log_c, 0.0)
    if balance.overfull:
        return _TOO_MUCH
    slope, nitrogen_by_c = balance.slopes(by_carbon=True)
    if balance.with_nitrogen:
        carbon_by_n, nitrogen_by_n = balance.slopes(by_carbon=False)
        # along the line on which nitrogen stays balanced
        slope -= carbon_by_n * nitrogen_by_c / nitrogen_by_n
    return log(balance.carbon_held / balance.total_c), slope / balance.carbon_held


def _nitrogen(balance: Balance, log_c: float, log_n: float) -> Pair:
    balance.share_metals(log_c, log_n)
    if balance.overfull:
        return _TOO_MUCH
    held = balance.nitrogen_held
    return log(held / balance.total_n), balance.slopes(by_carbon=False)[1] / held


def _settle_together(balance: Balance) -> bool:
    low, high = balance.constants.log_nitrogen_activity
    seen: list[Vector] = []

    def residuals(log_c: float, log_n: float) -> tuple[Pair, tuple[Pair, Pair]]:
        balance.share_metals(log_c, log_n)
        if balance.overfull:
            return (inf, inf), ((1.0, 0.0), (0.0, 1.0))
        seen.append(balance.amounts)
        carbon, nitrogen = balance.carbon_held, balance.nitrogen_held
        carbon_by_c, nitrogen_by_c = balance.slopes(by_carbon=True)
        carbon_by_n, nitrogen_by_n = balance.slopes(by_carbon=False)
        return (log(carbon / balance.total_c), log(nitrogen / balance.total_n)), (
            (carbon_by_c / carbon, carbon_by_n / carbon),
            (nitrogen_by_c / nitrogen, nitrogen_by_n / nitrogen),
        )

    start = (_CARBON_START, min(max(balance.log_n_dissolved(), low), high))
    found = newton_pair(residuals, start, _TOLERANCE)
    if found is not None:
        return low <= found[1] <= high
    # half of what each of the last states had, for the next method to start from
    recent = seen[-4:]
    balance.amounts = [sum(column) / len(recent) for column in zip(*recent, strict=True)]
    return False


def _settle_coexisting(balance: Balance) -> bool:
    """Solve for amounts and activities together, keeping the families that are present."""
    amounts, log_c, log_n = balance.amounts, balance.log_c, balance.log_n
    for _ in range(_STEPS):
        balance.place(amounts, log_c, log_n)
        present = [p for p, amount in enumerate(amounts) if amount > 0.0]
        sums = _sums(balance)
        residual = [sums[p] for p in present] + [balance.carbon_held / balance.total_c - 1.0]
        if balance.with_nitrogen:
            residual.append(balance.nitrogen_held / balance.total_n - 1.0)
        settled = max(map(abs, residual)) < _TOLERANCE
        late = [p for p, g in enumerate(sums) if g > 1e-7 and p not in present]
        if settled and not late:
            low, high = balance.constants.log_nitrogen_activity
            return not balance.with_nitrogen or low <= log_n <= high
        step = solve_linear(_coexistence_jacobian(balance, present), [-r for r in residual])
        d_logs = step[len(present) :]
        scale = min(1.0, _LONGEST / max(1e-30, *map(abs, d_logs)))
        moved = list(amounts)
        for p, change in zip(present, step, strict=False):
            moved[p] = max(0.0, amounts[p] + scale * change)
        for p in late if settled else ():
            moved[p] = 1e-4
        if sum(moved) >= _FULLEST:
            return False
        amounts, log_c = moved, log_c + scale * d_logs[0]
        log_n += scale * d_logs[1] if balance.with_nitrogen else 0.0
    return False


def _coexistence_jacobian(balance: Balance, present: list[int]) -> list[Vector]:
    """Return d(residuals)/d(amounts, ln A_C, ln A_N), one row a residual."""
    weight = balance.weight()
    columns = []
    for q in present:
        d_x = [-w * e for w, e in zip(weight, balance.excess[q], strict=True)]
        unit = [float(p == q) for p in range(len(balance.amounts))]
        columns.append(_column(balance, present, d_x, [0.0] * len(present), unit, (0.0, 0.0)))
    still = [0.0] * len(balance.amounts)
    for by_carbon in (True, False) if balance.with_nitrogen else (True,):
        gains = balance.gains(by_carbon=by_carbon)
        d_x = [-w * d for w, d in zip(weight, balance.drift(gains), strict=True)]
        rows = [gains[p] for p in present]
        direct = [sum(map(mul, row, balance.x)) if row is not None else 0.0 for row in rows]
        flags = (float(by_carbon), float(not by_carbon))
        columns.append(_column(balance, present, d_x, direct, still, flags))
    return [list(row) for row in zip(*columns, strict=True)]


def _column(
    balance: Balance, present: list[int], d_x: Vector, direct: Vector, d_amounts: Vector, d_logs: Pair
) -> Vector:
    sums = [sum(map(mul, balance.excess[p], d_x)) + own for p, own in zip(present, direct, strict=True)]
    carbon, nitrogen = balance.held_slopes(d_amounts, d_x, *d_logs)
    held = [carbon / balance.total_c]
    return sums + held + ([nitrogen / balance.total_n] if balance.with_nitrogen else [])
