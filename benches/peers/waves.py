#!/usr/bin/env python3
"""The waves of one turn, this project against numpy.fft.rfft, in one run.

    python3 benches/peers/waves.py [rounds [program]]

Needs numpy; builds the benchmark first unless its program is named. Both sides take turns on the same 360 readings, so that a
slow moment of the machine hits both. Each side runs as it is used: a plan or table made before,
one call a turn. rfft works out all 181 orders; ours is shown for the 16 that a turn is judged by,
and for all it can tell. The error is the largest difference of a factor from sums in long double,
in shares of the largest reading.
"""

import json
import statistics
import subprocess
import sys
import timeit

import numpy as np

COUNT = 360


def binary():
    command = ["cargo", "bench", "--bench", "waves", "--no-run", "--message-format=json"]
    lines = subprocess.run(command, check=True, capture_output=True, text=True).stdout.splitlines()
    made = (json.loads(line) for line in lines if line.startswith("{"))
    return [m["executable"] for m in made if m.get("executable") and m["target"]["name"] == "waves"][-1]


def readings():
    """Lobes and a rough skin by formula; anyone can make them again."""
    k = np.arange(COUNT)
    t = 2 * np.pi * k / COUNT
    return np.cos(t - 2.1) + 0.4 * np.cos(3 * t) + ((37 * k * k + 11 * k) % 101) / 101


def exact(z):
    """Factors of mean, cosine and sine in long double, angles reduced in whole numbers first."""
    turn = 8 * np.arctan(np.longdouble(1))
    order, place = np.arange(COUNT // 2)[:, None], np.arange(COUNT)[None, :]
    angle = turn * ((order * place) % COUNT).astype(np.longdouble) / COUNT
    factors = np.stack([np.cos(angle) @ z.astype(np.longdouble), np.sin(angle) @ z.astype(np.longdouble)])
    factors *= np.longdouble(2) / COUNT
    factors[0, 0] /= 2
    return factors


def ours(program, text):
    said = subprocess.run([program, "--peer"], input=text, check=True, capture_output=True, text=True).stdout
    times, factors, orders = {}, {}, None
    for line in said.splitlines():
        words = line.split()
        if words[0] == "orders":
            orders = int(words[1])
            times[orders] = float(words[3])
            factors[orders] = np.zeros((2, orders + 1))
        else:
            factors[orders][:, int(words[0])] = float(words[1]), float(words[2])
    return times, factors


def theirs(z):
    calls = 2000
    runs = timeit.repeat(lambda: np.fft.rfft(z), number=calls, repeat=21)
    return statistics.median(runs) / calls * 1e9


def main():
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 7
    program = sys.argv[2] if len(sys.argv) > 2 else binary()
    z = readings()
    text = "\n".join(repr(float(v)) for v in z)
    truth, size = exact(z), np.max(np.abs(z))
    spectrum = np.fft.rfft(z)[: COUNT // 2] * 2 / COUNT
    spectrum[0] /= 2
    peer_error = np.max(np.abs(np.stack([spectrum.real, -spectrum.imag]) - truth)) / size
    ratios, own, peer = {}, {}, []
    for _ in range(rounds):
        times, factors = ours(program, text)
        peer.append(theirs(z))
        for orders, time in times.items():
            own.setdefault(orders, []).append(time)
            ratios.setdefault(orders, []).append(peer[-1] / time)
    print(f"numpy {np.__version__}, rfft of {COUNT}: {statistics.median(peer):.0f} ns, error {peer_error:.1e}")
    for orders, all_ratios in ratios.items():
        error = np.max(np.abs(factors[orders] - truth[:, : orders + 1])) / size
        print(
            f"orders 0..{orders}: {statistics.median(own[orders]):.0f} ns, error {error:.1e}, "
            f"{statistics.median(all_ratios):.1f} times as fast ({min(all_ratios):.1f} to {max(all_ratios):.1f})"
        )


main()
