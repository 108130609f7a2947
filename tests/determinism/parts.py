"""Campaigns with the platform's further parts, whose code is chosen for a campaign, for a block or inside the lanes: play, starts that
fail, torque limit, lag, latency and drift of the gyro, encoder, battery, sleep, a stepper that slips. Whatever the number of lanes and
threads, the block-mates and the order in which flights are flown, a store has the same bits. Each campaign names measures that are
above zero in some of its flights only (or in all), so that what is compared did happen, beside flights in which it did not.

usage: parts.py PROGRAM FLY_NARROW ROOT"""
import copy
import json
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import h5py
import numpy

PROGRAM, NARROW, ROOT = sys.argv[1:4]
sys.path.insert(0, ROOT + "/tests/cli")
from asking import call, finish, must, normal, ok, same, uniform  # noqa: E402

FLIGHTS = 53  # no multiple of any number of lanes; neither are its halves

GONE = object()  # in place of a value: the entry is taken out

PLAY = {"drive.backlash_deg": uniform(0.1, 0.7)}
WEAK = {"drive.torque_limit_Nm": uniform(0.0004, 0.0016)}
FAILING = {"drive.start_odds": uniform(0.4, 1), "drive.retry_delay_s": 0.15}
LOCKING = {**FAILING, "drive.failed_start": "lock_out"}
SLEEPY = {"drive.sleep_after_s": uniform(0.6, 9), "drive.nudge_interval_s": 0.5, "drive.wake_command_dps": 60,
          "drive.wake_delay_s": 0.237}
DELAYED = {"drive.start_delay_s": uniform(0, 0.08), "drive.reversal_delay_s": uniform(0, 0.25)}
LAG = {"gyro.bandwidth_hz": uniform(20, 80), "gyro.bias_drift_dps_per_min": normal(0, 0.1), "gyro.cross_pitch": normal(0, 0.01),
       "gyro.cross_yaw": normal(0, 0.01), "gyro.load_dps_per_mps2": normal(0, 0.002)}
LATE = {"gyro.latency_s": 0.0137}
ENCODER = {"encoder": {"rate_hz": 250, "step_deg": uniform(0.01, 0.05)}, "controller.feed_forward": 0.9}
ROLLING = {"cameras[0].line_time_us": 14, "cameras[0].skew_limit_px": 2}
# Empty on the pad in some flights, on the way in others, and never in the rest.
BATTERY = {"pad.wait_s": uniform(100, 110), "battery": {
    "full_V": 8.4, "low_V": 6.2, "capacity_As": uniform(200, 350), "resistance_ohm": 0.15, "quiet_current_A": 2, "run_current_A": 0.4,
    "rated_V": 7.4}}
SLIPPING = {"drive.pull_out_factor": uniform(0.2, 1)}
TABLE = {"drive.pull_out_csv": "pull-out.csv", **{f"drive.{key}": GONE for key in (
    "winding_current_A", "winding_resistance_ohm", "winding_inductance_H", "supply_V")}}
EVERYTHING = {**PLAY, **LAG, **LATE, **ENCODER, **ROLLING, **BATTERY}

# Name, campaign to begin with, its changed entries, measures above zero in some flights, measures above zero in all.
CAMPAIGNS = [
    ("sensorless with play", "first", [PLAY, SLEEPY], ["asleep_s"], ["drive_starts"]),
    ("starts that fail", "first", [FAILING, DELAYED, LATE], ["failed_starts"], ["drive_starts"]),
    ("starts that fail behind play", "first", [LOCKING, PLAY, ENCODER], ["failed_starts", "locked_out_s"], ["drive_starts"]),
    ("torque limit", "first", [WEAK, DELAYED, LAG, SLEEPY], ["stalled_s", "asleep_s"], []),
    ("torque limit behind play", "first", [WEAK, PLAY, FAILING], ["stalled_s", "failed_starts"], []),
    ("all of the sensorless drive", "first", [EVERYTHING, WEAK, LOCKING, SLEEPY, DELAYED],
     ["stalled_s", "failed_starts", "locked_out_s", "unpowered_s", "asleep_s"], ["skewed_fraction"]),
    ("delays and a battery", "asleep", [DELAYED, BATTERY, LAG], ["unpowered_s"], []),
    ("gyro on the vehicle", "first", [{"gyro.mount": "vehicle"}, ENCODER, LAG, DELAYED], [], ["drive_starts"]),
    ("slipping stepper", "stepper", [SLIPPING], ["slipping_s", "step_losses"], []),
    ("slipping stepper by a table", "stepper", [SLIPPING, TABLE], ["slipping_s", "step_losses"], []),
    ("slipping stepper behind play", "stepper", [SLIPPING, PLAY, LAG, LATE], ["slipping_s", "step_losses"], []),
    ("all of the stepper", "stepper", [EVERYTHING, SLIPPING], ["slipping_s", "unpowered_s"], ["battery_least_V"]),
    ("stepper, battery and encoder", "stepper", [BATTERY, ENCODER, SLIPPING, ROLLING], ["slipping_s", "unpowered_s"], []),
    ("servo with play", "servo", [PLAY], [], ["held_fraction"]),
    ("servo without cogs, lag and all the gyro has", "servo", [{"drive.cogging_Nm": 0, "drive.current_lag_s": 0}, LAG, LATE], [],
     ["held_fraction"]),
    ("all of the servo", "servo", [EVERYTHING], ["unpowered_s"], ["held_fraction"]),
]


def put(campaign, path, value):
    """Set or take out the entry at a path such as cameras[0].line_time_us."""
    *way, last = path.replace("[", ".").replace("]", "").split(".")
    for key in way:
        campaign = campaign[int(key)] if isinstance(campaign, list) else campaign.setdefault(key, {})
    if value is GONE:
        del campaign[last]
    else:
        campaign[last] = copy.deepcopy(value)


def written(folder, number, name, base, changes):
    campaign = json.loads(Path(ROOT, "campaigns", base + ".json").read_text())
    campaign["name"] = name
    for group in changes:
        for path, value in group.items():
            put(campaign, path, value)
    file = folder / f"{number}.json"
    file.write_text(json.dumps(campaign))
    return file


def narrow(campaign, store, *shard):
    ran = subprocess.run([NARROW, campaign, store, str(FLIGHTS), *shard], capture_output=True, text=True)
    ok(ran.returncode == 0, f"{campaign} on narrow lanes: {ran.stderr}")


def happened(name, store, in_some, in_all):
    with h5py.File(store) as kept:
        shares = {measure: numpy.mean(kept[f"measures/{measure}"][()] != 0) for measure in in_some + in_all}
    for measure in in_some:
        ok(0.05 < shares[measure] < 0.95, f"{name}: {measure} is above zero in a share of {shares[measure]:.2f} of the flights")
    for measure in in_all:
        ok(shares[measure] == 1, f"{name}: {measure} is above zero in a share of {shares[measure]:.2f} of the flights")


def check(folder, number, name, base, changes, in_some, in_all):
    campaign = written(folder, number, name, base, changes)
    whole, other, grown, merged = (folder / f"{number}-{what}.h5" for what in ("whole", "narrow", "grown", "merged"))
    must("fly", campaign, "-o", whole, "--flights", FLIGHTS, "--threads", 1, "-q")
    happened(name, whole, in_some, in_all)
    narrow(campaign, other)
    # Other block-mates: in additions of which one is a single flight, in halves with the last one first, and alone.
    for end in (1, 24, FLIGHTS):
        call("fly", campaign, "-o", grown, "--flights", end, "--threads", 3, "-q", *(["--resume"] if end > 1 else []))
    halves = [folder / f"{number}-{part}.h5" for part in (1, 2)]
    call("fly", campaign, "-o", halves[1], "--flights", FLIGHTS, "--shard", "2/2", "-q")
    narrow(campaign, halves[0], "1", "2")
    call("merge", *halves, "-o", merged, "-q")
    same(ROOT, whole, other, grown, merged)
    call("replay", whole, "--flight", 37, "--every", 5, "-o", folder / f"{number}.csv")


with tempfile.TemporaryDirectory() as scratch:
    for table in Path(ROOT, "campaigns").glob("*.csv"):
        shutil.copy(table, scratch)
    Path(scratch, "pull-out.csv").write_text("step_rate_hz,torque_Nm\n0,0.018\n300,0.016\n900,0.011\n2000,0.006\n6000,0.001\n")
    for number, row in enumerate(CAMPAIGNS):
        check(Path(scratch), number, *row)
finish(least=10 * len(CAMPAIGNS))
