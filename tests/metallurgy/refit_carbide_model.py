"""Reproduce and refit the constants of rules/metallurgy/carbide_model.json.

    python tests/metallurgy/refit_carbide_model.py COMMAND

    equilibria DATABASE   recompute the stored equilibria and print those that differ
    holdout               refine on two thirds of the steels, score on the rest, before and after
    fit OUTPUT            refine the constants in use on all equilibria and write them
    scratch OUTPUT        the same from the regression of stage 1
    score [CONSTANTS]     errors by group of steels

``equilibria`` needs pycalphad and its database (see carbide_calphad); the rest needs numpy and scipy only.

A fit from scratch has two stages.  Stage 1 is linear: ln(y / X) - nu ln A_C = a + b / T by weighted ridge
regression on the metal fractions, and the activity of carbon in austenite likewise.  Stage 2 is nonlinear
least squares (soft L1 loss) on volumes and matrix contents with all constants free, held near their start
by a Gaussian prior.  ``fit`` and ``holdout`` run stage 2 from the constants in use, which came from a first
fit of the same kind to 378 other equilibria of the database.
"""

from __future__ import annotations

import copy
import json
import sys
import zlib
from collections.abc import Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from math import log, sqrt
from pathlib import Path
from typing import Any

import numpy as np
import yaml
from scipy.optimize import least_squares

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from advisor.errors import OutOfRangeError  # noqa: E402
from advisor.metallurgy.carbides import CarbideModel  # noqa: E402
from advisor.metallurgy.composition import ATOMIC_WEIGHT, composition_from_mapping  # noqa: E402

STORED = ROOT / "tests/published/carbides_equilibria.json"
CONSTANTS = ROOT / "rules/metallurgy/carbide_model.json"
PRACTICE = ROOT / "rules/metallurgy/carbide_model.yaml"
MIDDLE = 1300.0  # kelvin at which the constants are least correlated

WEIGHTS = {
    "MC": 1.0, "chromium": 1.0, "M7C3": 0.4, "M23C6": 0.4, "M6C": 1.0, "M3C": 1.0, "M2N": 1.0,
    "total": 1.0, "C": 8.0, "Cr": 0.7, "N": 8.0, "V": 0.5, "Mo": 0.5, "W": 0.5,
}  # fmt: skip
PRIOR = {"level": 0.6, "slope": 2500.0, "exponent": 0.05, "term": 1500.0, "self": 3.0}

Data = dict[str, Any]
Path_ = tuple[str | int, ...]


def load(path: Path) -> Any:
    text = path.read_text("utf-8")
    return json.loads(text) if path.suffix == ".json" else yaml.safe_load(text)


def held_out(entry: Mapping[str, Any]) -> bool:
    """Choose a third of the steels (all temperatures of a steel together), by name."""
    return zlib.crc32(entry["steel"].encode()) % 3 == 0


# --- stage 1 ---------------------------------------------------------------------------------------------


def stage_one(entries: Sequence[Data], start: Data) -> Data:
    """Regress the constants from metal fractions and activities."""
    constants = copy.deepcopy(start)
    for family, table in constants["carbide"].items():
        exponent = constants["carbon_exponent"][family]
        for symbol in table:
            points = _partition_points(entries, family, symbol, exponent)
            table[symbol] = _line(points, table[symbol])
    _fit_activity(entries, constants["austenite_carbon"], "C", "nitrogen")
    return constants


def _metal_fractions_of_matrix(entry: Data) -> dict[str, float]:
    moles = {s: w / ATOMIC_WEIGHT[s] for s, w in entry["matrix"].items()}
    metal = sum(m for s, m in moles.items() if s not in ("C", "N"))
    return {s: m / metal for s, m in moles.items()}


def _partition_points(
    entries: Sequence[Data], family: str, symbol: str, exponent: float
) -> list[tuple[float, float, float]]:
    """Return (1/T, ln K, weight); nitrogen-bearing MC tells nothing of the carbide alone."""
    points = []
    for entry in entries:
        y = entry["metals"].get(family, {}).get(symbol, 0.0)
        x = _metal_fractions_of_matrix(entry).get(symbol, 0.0)
        if y < 1e-4 or x < 1e-6 or (family == "MC" and entry["nitride_share"] > 0.02):
            continue
        kelvin = entry["celsius"] + 273.15
        value = log(y / x) - exponent * entry["log_activity"]["C"]
        points.append((1.0 / kelvin, value, sqrt(y) * min(1.0, entry["volume"][family])))
    return points


def _line(points: list[tuple[float, float, float]], prior: Sequence[float]) -> list[float]:
    """Fit a + b/T by ridge regression around the previous line."""
    if len(points) < 5:
        return list(prior)
    inverse, value, weight = np.array(points).T
    level, slope = prior[0] + prior[1] / MIDDLE, prior[1]
    design = np.column_stack([np.ones_like(inverse), inverse - 1.0 / MIDDLE]) * weight[:, None]
    right = (value - level - slope * (inverse - 1.0 / MIDDLE)) * weight
    ridge = np.diag([0.05 / PRIOR["level"], 0.05 / PRIOR["slope"]])
    d_level, d_slope = np.linalg.lstsq(np.vstack([design, ridge]), np.append(right, [0, 0]), rcond=None)[0]
    level, slope = level + d_level, slope + d_slope
    return [float(level - slope / MIDDLE), float(slope)]


def _fit_activity(entries: Sequence[Data], terms: Data, symbol: str, other: str) -> None:
    metals = list(terms["elements"])
    rows, right = [], []
    for entry in entries:
        if symbol not in entry["log_activity"]:
            continue
        x = _metal_fractions_of_matrix(entry)
        y, kelvin = x[symbol], entry["celsius"] + 273.15
        rows.append([1.0, 1.0 / kelvin, y, x.get("N", 0.0), *(x.get(m, 0.0) / kelvin for m in metals)])
        right.append(entry["log_activity"][symbol] - log(y / (1.0 - y)))
    scale = np.array([1.0, 1000.0, 1.0, 1.0, *[1000.0] * len(metals)])
    ridge = 1e-2 * np.eye(len(scale))
    design = np.vstack([np.array(rows) * scale, ridge])
    solution = np.linalg.lstsq(design, np.append(right, np.zeros(len(scale))), rcond=None)[0] * scale
    terms["constant"], terms["self"] = [float(v) for v in solution[:2]], float(solution[2])
    terms[other] = float(solution[3])
    terms["elements"] = {m: float(v) for m, v in zip(metals, solution[4:], strict=True)}


# --- stage 2 ---------------------------------------------------------------------------------------------


class Parameters:
    """The free constants as one vector, scaled so that the prior has unit spread."""

    def __init__(self, centre: Data) -> None:
        self.centre = centre
        self.entries: list[tuple[str, Path_]] = []
        for kind in ("carbide", "nitride"):
            for family, table in centre[kind].items():
                for symbol in table:
                    self.entries += [(s, (kind, family, symbol)) for s in ("level", "slope")]
        for terms in ("austenite_carbon", "austenite_nitrogen"):
            self.entries += [(s, (terms, "constant")) for s in ("level", "slope")]
            self.entries += [("term", (terms, "elements", m)) for m in centre[terms]["elements"]]
        self.entries += [("self", ("austenite_carbon", "self")), ("self", ("austenite_carbon", "nitrogen"))]
        self.entries += [("exponent", ("carbon_exponent", "MC")), ("exponent", ("nitrogen_exponent", "MC"))]

    def constants(self, vector: np.ndarray) -> Data:
        """Return the constants at ``vector``; zero is the centre."""
        data = copy.deepcopy(self.centre)
        for value, (kind, path) in zip(vector, self.entries, strict=True):
            change = float(value) * PRIOR[kind]
            *way, last = path
            holder = data
            for key in way:
                holder = holder[key]
            if kind == "level":
                holder[last][0] += change
            elif kind == "slope":
                holder[last][0] -= change / MIDDLE
                holder[last][1] += change
            else:
                holder[last] += change
        return data


def residuals(constants: Data, practice: Data, entries: Sequence[Data]) -> np.ndarray:
    """Return weighted differences of every quantity of every entry."""
    model = CarbideModel(constants, practice)
    out: list[float] = []
    for entry in entries:
        try:
            state = model.equilibrium(composition_from_mapping(entry["composition"]), entry["celsius"])
        except OutOfRangeError:
            out += [5.0] * len(WEIGHTS)
            continue
        wanted = _quantities(entry["volume"], entry["matrix"])
        found = _quantities(state.volume, state.matrix)
        out += [weight * (found[q] - wanted[q]) for q, weight in WEIGHTS.items()]
    return np.array(out)


def _quantities(volume: Mapping[str, float], matrix: Mapping[str, float]) -> dict[str, float]:
    found = {p: volume.get(p, 0.0) for p in ("MC", "M7C3", "M23C6", "M6C", "M3C", "M2N")}
    found["chromium"] = found["M7C3"] + found["M23C6"]
    found["total"] = sum(volume.values())
    found.update({s: matrix.get(s, 0.0) for s in ("C", "Cr", "N", "V", "Mo", "W")})
    return found


_WORK: dict[str, Any] = {}


def _start_worker(parameters: Parameters, practice: Data, entries: Sequence[Data]) -> None:
    _WORK.update(parameters=parameters, practice=practice, entries=entries)


def _work(vector: np.ndarray) -> np.ndarray:
    return residuals(_WORK["parameters"].constants(vector), _WORK["practice"], _WORK["entries"])


def stage_two(entries: Sequence[Data], centre: Data, practice: Data, steps: int = 10) -> Data:
    """Fit all constants to volumes and matrix contents."""
    parameters = Parameters(centre)
    size, width = len(parameters.entries), 0.02
    stiffness = 0.15 * sqrt(len(entries))

    with ProcessPoolExecutor(2, initializer=_start_worker, initargs=(parameters, practice, entries)) as pool:

        def objective(vector: np.ndarray) -> np.ndarray:
            return np.append(next(iter(pool.map(_work, [vector]))), stiffness * vector / sqrt(size) * 3.0)

        def jacobian(vector: np.ndarray) -> np.ndarray:
            trials = [vector, *(vector + width * np.eye(size)[k] for k in range(size))]
            base, *values = list(pool.map(_work, trials, chunksize=4))
            columns = [(value - base) / width for value in values]
            prior = np.eye(size) * stiffness / sqrt(size) * 3.0
            return np.vstack([np.column_stack(columns), prior])

        found = least_squares(
            objective, np.zeros(size), jacobian, loss="soft_l1", max_nfev=steps, x_scale=4.0, verbose=2
        )
    return parameters.constants(found.x)


def fit(entries: Sequence[Data], start: Data, practice: Data, steps: int = 10) -> Data:
    """Refine the constants and round them to the digits that matter."""
    return _rounded(stage_two(entries, start, practice, steps))


def _rounded(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _rounded(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_rounded(item) for item in value]
    return float(f"{value:.7g}") if isinstance(value, float) else value


# --- scores ----------------------------------------------------------------------------------------------


def score(entries: Sequence[Data], constants: Data, practice: Data) -> dict[str, dict[str, float]]:
    """Return the root mean square error of each quantity by group of steels."""
    groups: dict[str, list[np.ndarray]] = {}
    for entry in entries:
        row = residuals(constants, practice, [entry]) / np.array(list(WEIGHTS.values()))
        for group in ("all", _group(entry)):
            groups.setdefault(group, []).append(row)
    return {
        group: {
            "n": float(len(rows)),
            **dict(zip(WEIGHTS, np.sqrt(np.mean(np.square(rows), axis=0)).round(3).tolist(), strict=True)),
        }
        for group, rows in sorted(groups.items())
    }


def _group(entry: Data) -> str:
    composition = entry["composition"]
    if composition.get("N", 0.0) >= 0.03:
        return "nitrogen"
    if composition.get("W", 0.0) + composition.get("Mo", 0.0) >= 4.4 and composition.get("Cr", 0.0) < 6.0:
        return "high-speed"
    if composition.get("Cr", 0.0) >= 15.0:
        return "chromium 15 and more"
    return "chromium 10 to 15" if composition.get("Cr", 0.0) >= 10.0 else "chromium below 10"


def print_score(entries: Sequence[Data], constants: Data, practice: Data) -> None:
    for group, figures in score(entries, constants, practice).items():
        print(group, {k: round(v, 2) for k, v in figures.items()})


def main(arguments: list[str]) -> None:
    practice, constants = load(PRACTICE), load(CONSTANTS)
    command = arguments[0] if arguments else "score"
    entries = load(STORED)["equilibria"]
    if command == "equilibria":
        recompute(entries, Path(arguments[1]), constants)
    elif command == "holdout":
        found = fit([e for e in entries if not held_out(e)], constants, practice)
        for name, data in (("before", constants), ("after", found)):
            print(name)
            print_score([e for e in entries if held_out(e)], data, practice)
    elif command in ("fit", "scratch"):
        start = constants if command == "fit" else stage_one(entries, constants)
        Path(arguments[1]).write_text(json.dumps(fit(entries, start, practice), indent=1) + "\n", "utf-8")
    elif command == "score":
        chosen = load(Path(arguments[1])) if len(arguments) > 1 else constants
        print_score(entries, chosen, practice)
    else:
        raise SystemExit(__doc__)


def recompute(entries: Sequence[Data], database_path: Path, constants: Data) -> None:
    """Recompute every stored equilibrium and print those that differ by more than 0.05 vol %."""
    import carbide_calphad as calphad

    from advisor.metallurgy.carbide_constants import carbide_constants

    database, parsed = calphad.load_database(database_path), carbide_constants(constants)
    for entry in entries:
        composition = composition_from_mapping(entry["composition"])
        raw = calphad.equilibrium(database, composition, entry["celsius"])
        found = calphad.stored_form(entry["steel"], composition, entry["celsius"], raw, parsed)
        families = set(entry["volume"]) | set(found["volume"] if found else {})
        worst = (
            max(
                (abs(entry["volume"].get(p, 0.0) - found["volume"].get(p, 0.0)) for p in families),
                default=0.0,
            )
            if found
            else float("inf")
        )
        if worst > 0.05:
            print(entry["steel"], entry["celsius"], "differs by", round(worst, 3), "vol %", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
