"""Runs after rare failures, `fly --rare`: odds of known limit states down to 1e-6, refusals where a run supports no claim, the same
store for any number of threads and after an interruption, and a safety criterion of the demonstration against plain flights.
Usage: rare.py PROGRAM ROOT [demo]: with `demo` the part that flies the demonstration campaign"""
import json
import shutil
import sys
import tempfile
from pathlib import Path

import h5py
from scipy import stats

from asking import call, finish, interrupted, ok, same
from reseal import seal

ROOT = sys.argv[2]


def answer(store):
    return json.loads(call("odds", store, "--json").stdout)


def campaign(folder, formula, values, run=None, odds=0.999):
    file = folder / "c.json"
    file.write_text(json.dumps({
        "name": "limit state", "run": {"seed": 11, "plan": "plain", **(run or {})}, "formula": formula,
        "inputs": [{"name": f"x{i + 1}", "value": value} for i, value in enumerate(values)],
        "criteria": [{"name": "safe", "measure": "result", "at_least": 0, "odds": odds, "confidence": 0.95}],
        "all_together": {"odds": odds, "confidence": 0.95}}))
    return file


NORMAL = {"distribution": "normal", "mean": 0, "sd": 1}
UNIT = {"distribution": "uniform", "low": 1e-12, "high": 1}
N01 = stats.norm()
SUM4 = "(x1 + x2 + x3 + x4) / 2"
LOGS = "log(x1) + log(x2) + log(x3) + log(x4) + log(x5)"
SQUARES10 = " - ".join(f"x{i + 1}^2" for i in range(10))
# Formula, inputs, exact odds of a result at most 0, methods that must find them; any other must refuse. The plane and the circle are
# elementary; five exponentials add up to a gamma distribution, ten squares to a chi-square.
LIMITS = [
    (f"4.753424308822899 - {SUM4}", 4 * [NORMAL], 1e-6, ("subset", "importance")),
    (f"3 - {SUM4}", 4 * [NORMAL], N01.sf(3.0), ("subset", "importance")),
    ("27.631021 - x1^2 - x2^2", 2 * [NORMAL], stats.chi2(2).sf(27.631021), ("subset", "importance")),  # 1e-6, in all directions
    ("min(3.7 - x1, 3.7 + x1)", 1 * [NORMAL], 2 * N01.sf(3.7), ("subset", "importance")),              # two regions
    ("min(min(3 - x1, 3.5 + x1), 4 - x2)", 2 * [NORMAL],                                               # three, of unequal distance
     1 - (N01.cdf(3) - N01.cdf(-3.5)) * N01.cdf(4), ("subset", "importance")),
    (f"22 + {LOGS}", 5 * [UNIT], stats.gamma(5).sf(22), ("subset", "importance")),                     # 4e-6
    (f"35.564013 - {SQUARES10}", 10 * [NORMAL], stats.chi2(10).sf(35.564013), ("subset",)),            # 1e-4, in all of ten dimensions
    ("floor(x1 + 3.5)", 1 * [NORMAL], N01.cdf(-3.5), ("subset", "importance")),                        # a margin that only counts
]


def limit_states(folder):
    for formula, values, odds, methods in LIMITS:
        file = campaign(folder, formula, values, {"rare": {"flights_per_level": 500}})
        for method in ("subset", "importance"):
            store = folder / "limit.h5"
            store.unlink(missing_ok=True)
            call("fly", file, "-o", store, "--rare", method, "--quiet")
            told = answer(store)
            ok(told["is_supported"] == (method in methods), f"{formula} by {method}: {told['why_not']}")
            if not told["is_supported"]:
                ok(told["odds_of_failing"] is None and told["why_not"]
                     and told["verdict"] == "NOT YET KNOWN", f"{formula} by {method}: a claim without support")
                continue
            error = told["spread"] * told["odds_of_failing"] / told["repeats"] ** 0.5
            ok(abs(told["odds_of_failing"] - odds) < 4 * error, f"{formula} by {method}: {told['odds_of_failing']}, exactly {odds}")
            ok(told["interval"][1] < 4 * told["interval"][0], f"{formula} by {method}: {told['interval']}")


def manners(folder):
    # The rule in the campaign, any number of threads, a finished store that tells its rule, replay from the stored quantities.
    file = campaign(folder, f"3 - {SUM4}", 4 * [NORMAL], {"rare": {"method": "subset", "flights_per_level": 200, "repeats": 8}}, odds=0.99999)
    stores = [folder / f"t{threads}.h5" for threads in (1, 2, 3)]
    for threads, store in enumerate(stores, 1):
        call("fly", file, "-o", store, "--threads", threads, "--quiet")
    same(ROOT, *stores)
    with h5py.File(stores[0]) as kept:
        ok(kept.attrs["run_rule"] == "rare by subset, criterion 0, 200 flights a level, 8 repeats, steps 2", "the store does not tell its method")
        ok(kept.attrs["finished"] == 1 and kept.attrs["flights_asked"] == kept.attrs["flights"] > 1600, "the store is not finished")
        last = int(kept.attrs["flights"]) - 1
    call("replay", stores[0], "--flight", last, "-o", folder / "r.csv")
    call("fly", file, "-o", stores[0], "--resume", "--quiet")
    same(ROOT, *stores)
    shutil.copy(stores[1], folder / "old.h5")  # as earlier steps would have left it
    with h5py.File(folder / "old.h5", "r+") as kept:
        kept.attrs["run_rule"] = "rare by subset, criterion 0, 200 flights a level, 8 repeats"
    seal(folder / "old.h5")
    for words in (("odds", folder / "old.h5"), ("fly", file, "-o", folder / "old.h5", "--resume", "--quiet")):
        ran = call(*words, code=4)
        ok("old.h5: its flights were chosen by steps 1 of subset simulation" in ran.stderr and "version that filled it" in ran.stderr,
           f"{words[0]} of a store of earlier steps: {ran.stderr}")
    ran = call("rank", folder / "old.h5", code=3)
    ok("no sample" in ran.stderr, f"rank of a store of earlier steps: {ran.stderr}")
    text = call("odds", stores[0]).stdout
    ok(text.startswith("NO-GO: safe fails in 0.00") and "subset simulation, 8 repeats" in text, f"the text says {text}")
    call("odds", stores[0], "--strict", code=1)
    for words in (("rank", stores[0]), ("odds", stores[0], stores[1])):
        ran = call(*words, code=3)
        ok("no sample" in ran.stderr, f"{words[0]} takes it for a sample: {ran.stderr}")

    # A criterion that only tells yes from no has no way down to failure; one that cannot fail is not reached; one that fails in a
    # half or in nearly all flights is not rare.
    for formula, word in (("min(1, floor(x1 + 4.5))", "varies"), ("1 + exp(x1)", "not reached"), ("x1", "not rare"),
                          ("x1 - 4", "not rare")):
        store = folder / f"{formula[-4:]}.h5"
        call("fly", campaign(folder, formula, 1 * [NORMAL]), "-o", store, "--rare", "subset", "--quiet")
        told = answer(store)
        ok(not told["is_supported"] and word in told["why_not"] and told["odds_of_failing"] is None, f"{formula}: {told['why_not']}")

    # The verdict is that of the one-sided bounds: GO where the odds asked lie between upper bound and upper end of the interval,
    # NO-GO where between the lower ones.
    told = answer(stores[0])
    for bound, end, verdict in (("bound_high", 1, "GO"), ("bound_low", 0, "NO-GO")):
        between = 0.5 * (told[bound] + told["interval"][end])
        file = campaign(folder, f"3 - {SUM4}", 4 * [NORMAL], {"rare": {"method": "subset", "flights_per_level": 200, "repeats": 8}},
                        odds=1 - between)
        store = folder / f"{bound}.h5"
        call("fly", file, "-o", store, "--quiet")
        now = answer(store)
        ok(now["interval"] == told["interval"] and now["verdict"] == verdict, f"{bound}: odds of {between} asked: {now}")

    # Plain flights cannot show odds of 1 - 1e-6: said with the number that could, and the way out.
    file = campaign(folder, f"4.753424308822899 - {SUM4}", 4 * [NORMAL], odds=0.999999)
    call("fly", file, "-o", folder / "plain.h5", "--quiet")
    text = " ".join(call("odds", folder / "plain.h5").stdout.split())
    ok("10,000 flights cannot show odds of 99.9999 %" in text and "2,995,731 flights" in text
         and "--rare subset" in text, f"10,000 flights: {text}")
    ok(answer(folder / "plain.h5")["criteria"][0]["least_flights"] == 2995731, "least_flights")

    # Mistakes, one line each.
    for words, code, said in ((("--rare", "magic"), 2, "subset or importance"), (("--criterion", "safe"), 2, "goes with --rare"),
                              (("--rare", "subset", "--criterion", "x"), 3, "no criterion has the name 'x'; name one of: 'safe'"),
                              (("--rare", "subset", "--criterion", "all together"), 3, "which is all of them at once"),
                              (("--rare", "subset", "--stop-verdict"), 3, f"{file}: a run after rare failures ends when its method"),
                              (("--rare", "importance", "--stop-after", "5"), 3, "leave out --flights and the stop options"),
                              (("--rare", "subset", "--flights", "500"), 3, "run.rare.flights_per_level")):
        ran = call("fly", file, "-o", folder / "no.h5", *words, code=code)
        ok(said in ran.stderr and ran.stderr.count("\n") == 1, f"{words}: {ran.stderr}")
        ok(not (folder / "no.h5").exists(), f"{words}: left a store")
    ran = call("fly", campaign(folder, SUM4, 4 * [NORMAL], {"plan": "paired"}), "-o", folder / "no.h5", "--stop-verdict", code=3)
    ok(ran.stderr.startswith(f"rollcast: {file}: the plan paired") and "set run.plan to plain" in ran.stderr,
       f"paired until a verdict: {ran.stderr}")
    two = json.loads(file.read_text())
    two["criteria"].append({**two["criteria"][0], "name": "safe too"})
    file.write_text(json.dumps(two))
    ran = call("fly", file, "-o", folder / "no.h5", "--rare", "subset", code=3)
    ok(f"{file}: which criterion's" in ran.stderr and "--criterion" in ran.stderr, f"two criteria: {ran.stderr}")
    ran = call("check", campaign(folder, "x1", [NORMAL], {"rare": {"method": "subset", "flights_per_level": 205}}), code=3)
    ok("/run/rare/flights_per_level" in ran.stderr and "multiple of 10" in ran.stderr, f"205 a level: {ran.stderr}")
    for stop in ({"on_verdict": "yes"}, {"width": 0.1}, {"after_s": 5}):
        ran = call("check", campaign(folder, "x1", [NORMAL], {"rare": {"method": "subset"}, "stop": stop}), code=3)
        ok("/run/stop: does not go with run.rare" in ran.stderr and ran.stderr.count("\n") == 1, f"{stop} and a method: {ran.stderr}")
        file = campaign(folder, "x1", [NORMAL], {"stop": stop})
        ran = call("fly", file, "-o", folder / "no.h5", "--rare", "subset", code=3)
        ok(f"{file}: the campaign has a stop rule" in ran.stderr and "take out run.stop" in ran.stderr, f"{stop} and --rare: {ran.stderr}")
        ok(not (folder / "no.h5").exists(), f"{stop} and --rare: left a store")
    call("check", campaign(folder, "x1", [NORMAL], {"rare": {"method": "subset"}, "stop": {"on_verdict": "no", "width": 0}}))
    ran = call("fly", campaign(folder, "x1", [1.0]), "-o", folder / "no.h5", "--rare", "subset", code=3)
    ok("nothing is uncertain" in ran.stderr, f"nothing uncertain: {ran.stderr}")


def demo(folder):
    """Speed off the rail of the readiness campaign, which fails in 5e-4 of flights: both methods against plain flights, and an
    interruption on the way."""
    plain = folder / "plain.h5"
    file = f"{ROOT}/campaigns/readiness.json"
    call("fly", file, "-o", plain, "--flights", "60000", "--quiet")
    row = next(row for row in answer(plain)["criteria"] if row["name"] == "speed off the rail")
    high, low = (1 - end for end in row["interval"])
    ok(1e-4 < low < high < 1e-3, f"plain flights fail in {low} to {high}, which is not rare")
    content = json.loads(Path(file).read_text())
    content["motor"]["thrust_csv"] = Path(content["motor"]["thrust_csv"]).name
    for table in Path(f"{ROOT}/campaigns").glob("*.csv"):
        (folder / table.name).write_bytes(table.read_bytes())
    small = folder / "small.json"
    # Importance sampling wants failures of 400 flights' worth, which 8 x 200 are too few for.
    for method, repeats, per_level in (("importance", 16, 300), ("subset", 8, 200)):
        content["run"]["rare"] = {"criterion": "speed off the rail", "flights_per_level": per_level, "repeats": repeats}
        small.write_text(json.dumps(content))
        store = folder / f"{method}.h5"
        call("fly", small, "-o", store, "--rare", method, "--quiet")
        told = answer(store)
        print(f"{method}: {told['odds_of_failing']} in {told['interval']}, {told['flights']} flights; plain flights "
              f"{row['flights'] - row['passed']} of {row['flights']}, {low} to {high}")
        ok(told["is_supported"] and told["interval"][0] <= high and told["interval"][1] >= low and told["interval"][1] < 1e-2,
           f"{method}: {told['interval']}, plain flights {low} to {high}: {told['why_not']}")
    # What shares a value as long as nothing happens is refused, and said to be that.
    call("fly", small, "-o", folder / "angle.h5", "--rare", "subset", "--criterion", "incidence at resonance", "--quiet")
    told = answer(folder / "angle.h5")
    ok(not told["is_supported"] and "does not happen" in told["why_not"], f"incidence at resonance: {told['why_not']}")
    resumed = folder / "resumed.h5"
    interrupted(resumed, 150_000, "fly", small, "--rare", "subset")
    told = answer(resumed)
    ok(not told["is_supported"] and "unfinished" in told["why_not"], f"interrupted: {told['why_not']}")
    call("fly", small, "-o", resumed, "--resume", "--quiet")
    same(ROOT, folder / "subset.h5", resumed)
    call("replay", resumed, "--flight", answer(resumed)["flights"] - 1, "-o", folder / "r.csv")


with tempfile.TemporaryDirectory() as scratch:
    if sys.argv[3:] == ["demo"]:
        demo(Path(scratch))
    else:
        limit_states(Path(scratch))
        manners(Path(scratch))

finish()
