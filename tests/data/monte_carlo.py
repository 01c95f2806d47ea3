"""The spare litres of a trip by Monte Carlo in vectorised numpy, from the legs' responses as JSON on stdin.

The same unknowns are drawn as many times, put to the same curves and the same recursion; only the generator is
numpy's own. Prints the quantiles and the seconds that drawing and working out took, without start-up.
"""
import json
import sys
import time

import numpy as np

trip = json.load(sys.stdin)
samples = trip["samples"]
rng = np.random.Generator(np.random.SFC64(12345))
common, own = np.sqrt(0.7), np.sqrt(0.3)


def log_of(curve, z):
    middle, below, above = curve
    return middle + z * np.where(z < 0, below[0] + z * below[1], above[0] + z * above[1])


def work():
    shared = {}

    def drawn(key):
        if key not in shared:
            shared[key] = rng.standard_normal(samples)
        return shared[key]

    base = np.exp(trip["baseline_spread"] * drawn("base"))
    low_range = base * np.exp(0.2 * drawn("low range"))
    idling = np.exp(0.2 * drawn("idle"))
    days, last = {}, None
    for day in sorted({leg["day"] for leg in trip["legs"]}):
        fresh = trip["day_spread"] * rng.standard_normal(samples)
        if last is not None:
            carried = 0.5 ** (day - last)
            fresh = np.sqrt(1 - carried**2) * fresh + carried * days[last]
        days[day], last = fresh, day
    factors = []
    for leg in trip["legs"]:
        log = days[leg["day"]] + leg["distance"][0] + leg["distance"][1] * rng.standard_normal(samples)
        for cause in ["SurfaceResistance", "SandResistance", "DuneResistance", "SandShare", "LowRangeShare", "Speed", "Cold"]:
            curve = leg["curves"][cause]
            if curve is not None:
                kind = (cause, leg["surface"] if cause == "SurfaceResistance" else "")
                log = log + log_of(curve, common * drawn(kind) + own * rng.standard_normal(samples))
        if leg["curves"]["Wind"] is not None:
            log = log + log_of(leg["curves"]["Wind"], drawn(("wind", leg["day"])))
        low = leg["low_range_part"]
        vehicle = base * (1 - low) + low_range * low if low > 0 else base
        factors.append(np.exp(log) * vehicle)
    needed = np.full(samples, trip["reserve"][-1])
    most = np.full(samples, -np.inf)
    for leg, factor, reserve, pump in reversed(list(zip(trip["legs"], factors, trip["reserve"], trip["pumps"]))):
        rate = leg["driving"] * factor + leg["idle"] * idling
        beta = leg["growth"] * factor
        needed = needed + (rate + beta * needed) * np.expm1(beta) / beta
        most = np.maximum(most, needed - trip["tank"])
        needed = np.full(samples, reserve) if pump else np.maximum(needed, reserve)
    return np.maximum(most, 0)


work()
runs = []
for _ in range(trip["runs"]):
    begun = time.perf_counter()
    spare = work()
    runs.append(time.perf_counter() - begun)
quantiles = [float(np.quantile(spare, q, method="inverted_cdf")) for q in trip["quantiles"]]
print(json.dumps({"quantiles": quantiles, "mean": float(spare.mean()), "seconds": min(runs)}))
