"""Planes and zones beside numpy and scipy: the same points, whole calls.

    python -m venv /tmp/peers && /tmp/peers/bin/pip install numpy scipy highspy
    cargo bench --bench geometry --no-run          # prints the path of the program
    /tmp/peers/bin/python benches/peers/compare.py PROGRAM [zones|digits|times] ...

zones   some thousand random and degenerate sets, minimum zone against scipy.optimize.linprog
        (HiGHS) and against a model given to highspy straight. Where they differ, rational arithmetic
        says who is right; a summary is written to disagreements.txt beside this file.
digits  correct digits of the least-squares plane against numpy.linalg.lstsq, by rational arithmetic:
        the worst and the median of 20 sets a row.
times   whole calls at 1 000 and 1 000 000 points, the best of several.
"""

import itertools
import math
import statistics
import struct
import subprocess
import sys
import time
from fractions import Fraction
from pathlib import Path

import highspy
import numpy as np
from scipy.optimize import linprog

HERE = Path(__file__).parent
# Relative difference of two widths that counts as none.
AGREE = 1e-9


class Program:
    """The benchmark program, answering sets on its standard input."""

    def __init__(self, path):
        self.process = subprocess.Popen(
            [path, "answers"], stdin=subprocess.PIPE, stdout=subprocess.PIPE
        )

    def ask(self, x, y, z):
        columns = (np.ascontiguousarray(column, dtype="<f8").tobytes() for column in (x, y, z))
        self.process.stdin.write(struct.pack("<Q", len(x)) + b"".join(columns))
        self.process.stdin.flush()
        words = self.process.stdout.readline().decode().split()
        return {
            "width": float(words[0]),
            "within": float(words[1]),
            "method": words[2],
            "certified": words[3] == "true",
            "seconds": int(words[4]) * 1e-9,
            "plane": [float(word) for word in words[5:8]],
        }


def by_linprog(x, y, z):
    """Width of the minimum zone, nan when the solver gives none; and what it says."""
    ones = np.ones_like(x)
    rows = np.concatenate(
        [np.column_stack([-x, -y, -ones, -ones]), np.column_stack([x, y, ones, -ones])]
    )
    bounds = [(None, None)] * 3 + [(0, None)]
    result = linprog([0, 0, 0, 1], rows, np.concatenate([-z, z]), bounds=bounds, method="highs")
    return (math.nan if result.x is None else 2 * result.x[3]), result.message


def by_highspy(x, y, z):
    """The same problem as a model of rows: z - half <= a x + b y + c <= z + half."""
    points = len(x)
    model = highspy.HighsLp()
    model.num_col_, model.num_row_ = 4, 2 * points
    model.col_cost_ = np.array([0.0, 0.0, 0.0, 1.0])
    none = highspy.kHighsInf
    model.col_lower_ = np.array([-none, -none, -none, 0.0])
    model.col_upper_ = np.full(4, none)
    model.row_lower_ = np.concatenate([z, np.full(points, -none)])
    model.row_upper_ = np.concatenate([np.full(points, none), z])
    ones = np.ones_like(x)
    above, below = np.column_stack([x, y, ones, ones]), np.column_stack([x, y, ones, -ones])
    model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    model.a_matrix_.start_ = np.arange(0, 8 * points + 1, 4)
    model.a_matrix_.index_ = np.tile(np.arange(4), 2 * points)
    model.a_matrix_.value_ = np.concatenate([above, below]).ravel()
    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.passModel(model)
    solver.run()
    status = solver.getModelStatus()
    says = solver.modelStatusToString(status)
    if status != highspy.HighsModelStatus.kOptimal:
        return math.nan, says
    return 2 * solver.getSolution().col_value[3], says


PEERS = {"linprog": by_linprog, "highspy": by_highspy}


# --- rational arithmetic ---------------------------------------------------------------------


def decimals(column):
    """The decimals a file would hold, 15 digits at most; otherwise the floats as they are."""
    texts = [repr(float(value)) for value in column]
    digits = [text.split("e")[0].replace("-", "").replace(".", "").strip("0") for text in texts]
    if all(len(found) <= 15 for found in digits):
        return [Fraction(text) for text in texts]
    return [Fraction(float(value)) for value in column]


def area(a, b, c):
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def forced(points):
    """Half the width that two to four points force; 0 where they force nothing."""
    if len(points) == 2:
        weights = (1, -1) if points[0][:2] == points[1][:2] else (0, 0)
    elif len(points) == 3:
        axis = 0 if len({point[0] for point in points}) > 1 else 1
        a, b, c = (point[axis] for point in points)
        weights = (b - c, c - a, a - b) if area(*points) == 0 else (0, 0, 0)
    else:
        a, b, c, d = points
        weights = (area(b, c, d), -area(a, c, d), area(a, b, d), -area(a, b, c))
    total = sum(abs(weight) for weight in weights)
    lift = sum(weight * point[2] for weight, point in zip(weights, points))
    return abs(lift) / total if total else Fraction(0)


def solve(rows, right):
    """Gauss elimination in rationals; None when singular."""
    size = len(rows)
    table = [list(row) + [value] for row, value in zip(rows, right)]
    for column in range(size):
        pivot = next((row for row in range(column, size) if table[row][column] != 0), None)
        if pivot is None:
            return None
        table[column], table[pivot] = table[pivot], table[column]
        for row in range(size):
            if row != column and table[row][column] != 0:
                factor = table[row][column] / table[column][column]
                table[row] = [a - factor * b for a, b in zip(table[row], table[column])]
    return [table[row][size] / table[row][row] for row in range(size)]


def plane_within(points, half):
    """A plane no farther than half from any of the points, touching three; None without one."""
    for three in itertools.combinations(points, 3):
        if area(*three) == 0:
            continue
        for sides in itertools.product((-1, 1), repeat=3):
            heights = [z - side * half for (_, _, z), side in zip(three, sides)]
            a, b, c = solve([(x, y, 1) for x, y, _ in three], heights)
            if all(abs(z - a * x - b * y - c) <= half for x, y, z in points):
                return a, b, c
    return None


def exact_width(x, y, z):
    """The minimum zone in rationals: the most that any two to four of a few points force, and the
    few grown by the point that stands out most until none does. None when all are on one line."""
    points = list(zip(decimals(x), decimals(y), decimals(z)))
    few = [0]
    few.append(max(range(len(points)), key=lambda row: sum(abs(points[row][i] - points[0][i]) for i in (0, 1))))
    few.append(max(range(len(points)), key=lambda row: abs(area(points[0], points[few[1]], points[row]))))
    if area(*(points[row] for row in few)) == 0:
        return None
    while True:
        chosen = [points[row] for row in few]
        sets = itertools.chain.from_iterable(itertools.combinations(chosen, size) for size in (2, 3, 4))
        half = max(map(forced, sets))
        a, b, c = plane_within(chosen, half)
        offs = [abs(pz - a * px - b * py - c) for px, py, pz in points]
        worst = max(range(len(points)), key=offs.__getitem__)
        if offs[worst] <= half:
            return 2 * half
        few.append(worst)


def exact_plane(x, y, z):
    """Least squares in rationals, of the floats as they are."""
    columns = [[Fraction(float(value)) for value in column] for column in (x, y, np.ones_like(x), z)]

    def dot(one, other):
        return sum(a * b for a, b in zip(columns[one], columns[other]))

    return solve([[dot(i, j) for j in range(3)] for i in range(3)], [dot(i, 3) for i in range(3)])


# --- sets ------------------------------------------------------------------------------------


def perfect_plane(dice, n):
    x, y = np.round(dice.uniform(0, 100, n), 2), np.round(dice.uniform(0, 100, n), 2)
    return x, y, np.round(0.3 * x - 0.2 * y + 7, 3)


def steep(dice, n):
    x, y = dice.uniform(0, 100, n), dice.uniform(0, 100, n)
    return x, y, 1e4 * x - 3e3 * y + dice.normal(0, 1e-3, n)


def strip(dice, n):
    x = np.round(dice.uniform(0, 100, n), 3)
    return x, np.round(x + dice.uniform(0, 1e-4, n), 6), np.round(dice.normal(0, 1, n), 2)


def ring(dice, n):
    angle = 2 * np.pi * np.arange(n) / n
    return 50 * np.cos(angle), 50 * np.sin(angle), np.round(dice.normal(0, 1, n), 2)


KINDS = {
    "even noise": lambda r, n: (r.uniform(0, 300, n), r.uniform(0, 200, n), r.uniform(0, 5, n)),
    "decimals": lambda r, n: (
        np.round(r.uniform(0, 300, n), 2),
        np.round(r.uniform(0, 200, n), 2),
        np.round(r.normal(0, 2, n), 1),
    ),
    "grid, few levels": lambda r, n: (
        r.integers(0, 4, n) * 10.0,
        r.integers(0, 4, n) * 10.0,
        np.round(r.integers(0, 4, n) * 0.1, 1),
    ),
    "ring": ring,
    "duplicates": lambda r, n: (
        r.integers(0, 3, n) * 1.5,
        r.integers(0, 2, n) * 2.5,
        np.round(r.normal(0, 1, n), 1),
    ),
    "perfect plane": perfect_plane,
    "steep": steep,
    "far from the origin": lambda r, n: (
        np.round(1e6 + r.uniform(0, 100, n), 3),
        np.round(-2e6 + r.uniform(0, 100, n), 3),
        np.round(1e5 + r.normal(0, 1, n), 3),
    ),
    "thin strip": strip,
    "one high point": lambda r, n: (
        r.uniform(0, 100, n),
        r.uniform(0, 100, n),
        np.where(np.arange(n) == n // 2, 9.0, 0.0),
    ),
}


def judge(ours, theirs, exact):
    """Who is right about a width, and what the other does."""
    if exact is None:
        return ("tenths" if math.isnan(ours["width"]) else "the other"), "an answer where all positions are on one line"
    if math.isnan(ours["width"]):
        return "the other", "tenths gives no answer"
    allowed = max(Fraction(ours["within"]), exact * Fraction(1e-15))
    if abs(Fraction(ours["width"]) - exact) > allowed:
        return "the other", "tenths is off by more than it says"
    return "tenths", "no answer" if math.isnan(theirs) else "off by more than 1e-9 of the width"


def zones(program, sets=4000):
    dice = np.random.default_rng(5)
    differ, agreed, right = {}, {}, {"tenths": 0, "the other": 0}
    for number in range(sets):
        name = list(KINDS)[number % len(KINDS)]
        x, y, z = KINDS[name](dice, int(dice.integers(4, 41)))
        ours, exact = program.ask(x, y, z), False
        for peer, solve_by in PEERS.items():
            theirs, _ = solve_by(x, y, z)
            row = agreed.setdefault((peer, name), [0, 0])
            row[1] += 1
            if abs(ours["width"] - theirs) <= AGREE * theirs:
                row[0] += 1
                continue
            exact = exact_width(x, y, z) if exact is False else exact
            who, why = judge(ours, theirs, exact)
            right[who] += 1
            off = abs(theirs - float(exact)) if exact is not None and not math.isnan(theirs) else math.nan
            differ.setdefault((name, peer, who, why), []).append((off, len(x), ours["width"], theirs, exact))
    for (peer, name), (same, total) in agreed.items():
        print(f"zones, {peer}, {name:<20} {same:>5} of {total} the same to {AGREE:g}")
    count = sum(map(len, differ.values()))
    print(f"zones: {sets} sets, {count} answers of {len(PEERS)} peers differ; right by rational arithmetic: {right}")
    write(differ)


def write(differ):
    """One line for each kind of difference, and the two largest worked out."""
    with open(HERE / "disagreements.txt", "w", encoding="utf-8") as file:
        file.write(
            "Where the minimum zone and that of scipy.optimize.linprog or highspy (both HiGHS) differ by more\n"
            "than 1e-9 of the width. Written by compare.py: kind of set, other program, how many, who is right\n"
            "by rational arithmetic, what the other does, its largest error; then the two largest of them as\n"
            "points, tenths, other, exact.\n\n"
        )
        for (name, peer, who, why), cases in sorted(differ.items()):
            cases.sort(key=lambda case: (math.isnan(case[0]), -case[0] if not math.isnan(case[0]) else 0.0))
            largest = "" if math.isnan(cases[0][0]) else f"; largest error {cases[0][0]:.1e}"
            file.write(f"{name}, {peer}: {len(cases)}, right: {who}; {peer}: {why}{largest}\n")
            for _, points, ours, theirs, exact in cases[:2]:
                true = "none" if exact is None else format(float(exact), ".15g")
                file.write(f"    {points:>3}  {ours:<22.15g} {theirs:<22.15g} {true}\n")


# --- digits and times ------------------------------------------------------------------------


def digit_rows(n, seed):
    dice = np.random.default_rng(seed)
    angle = 2 * np.pi * np.arange(n) / n
    at_x, at_y = 50 * np.cos(angle), 50 * np.sin(angle)
    along = dice.uniform(-100, 100, n)
    noise = dice.normal(0, 1, n)
    yield "ring", at_x, at_y, 0.02 * at_x - 0.01 * at_y + noise
    for offset in (1e3, 1e6, 1e8):
        x, y = offset + at_x, offset + at_y
        yield f"ring, offset {offset:g}", x, y, 0.02 * x - 0.01 * y + noise
    for thin in (1e-4, 1e-7):
        x, y = along, along + thin * dice.uniform(-100, 100, n)
        yield f"strip {thin:g}", x, y, 0.02 * x - 0.01 * y + 1e-3 * noise
    x = along + 1e6
    y = x + 1e-4 * dice.uniform(-100, 100, n)
    yield "strip 1e-4, offset 1e6", x, y, 0.02 * x - 0.01 * y + 1e-3 * noise


def digits(program):
    def count(found, exact):
        off = max(abs((Fraction(float(f)) - e) / e) for f, e in zip(found, exact))
        return 16.0 if off == 0 else min(16.0, -math.log10(float(off)))

    for n in (400, 20_000):
        found = {}
        for seed in range(20):
            for name, x, y, z in digit_rows(n, seed):
                exact = exact_plane(x, y, z)
                theirs = np.linalg.lstsq(np.column_stack([x, y, np.ones_like(x)]), z, rcond=None)[0]
                pair = count(program.ask(x, y, z)["plane"], exact), count(theirs, exact)
                found.setdefault(name, []).append(pair)
        for name, pairs in found.items():
            ours, theirs = zip(*pairs)
            print(
                f"least squares, {n:>5} points, {name:<24} correct digits, worst and median of 20:"
                f" {min(ours):5.1f} {statistics.median(ours):5.1f}"
                f"   numpy.linalg.lstsq {min(theirs):5.1f} {statistics.median(theirs):5.1f}",
                flush=True,
            )


def times(program):
    for points, rounds in ((1_000, 20), (1_000_000, 1)):
        dice = np.random.default_rng(points)
        x, y = dice.uniform(0, 300, points), dice.uniform(0, 200, points)
        z = 0.01 * x + dice.normal(0, 1, points)
        answers = [program.ask(x, y, z) for _ in range(199 if points < 10_000 else 19)]
        ours = min(answer["seconds"] for answer in answers)
        print(f"zone of {points} points: {ours * 1e6:.1f} us, width {answers[0]['width']:.12g}")
        for peer, solve_by in PEERS.items():
            seconds = []
            for _ in range(rounds):
                start = time.perf_counter()
                width, _ = solve_by(x, y, z)
                seconds.append(time.perf_counter() - start)
            theirs = min(seconds)
            print(f"    {peer} {theirs * 1e6:.0f} us, {theirs / ours:.0f} times that, width {width:.12g}", flush=True)


if __name__ == "__main__":
    talk = Program(sys.argv[1])
    for part in sys.argv[2:] or ["digits", "zones", "times"]:
        {"zones": zones, "digits": digits, "times": times}[part](talk)
