"""`check --aero --csv` written and fed back as the campaign's own table: the coefficients stay and so do flights, whatever factors the
campaign puts on them; and what a table may hold together.

usage: tables.py PROGRAM ROOT"""
import csv
import io
import json
import os
import shutil
import sys
import tempfile

import h5py

from asking import call, finish, must, near, normal, ok

root = sys.argv[2]
os.chdir(tempfile.mkdtemp())
for table in ("lapwing-thrust.csv", "lapwing-aero.csv"):
    shutil.copy(f"{root}/campaigns/{table}", ".")
first = json.load(open(root + "/campaigns/first.json", encoding="utf-8"))
N_FLIGHTS = 24
MEASURES = ("apogee_m", "mach_max", "q_max_Pa", "rail_exit_mps", "static_margin_min_cal", "pitch_damping_min", "arm_damping_min_per_s",
            "alpha_max_deg", "lateral_load_max_mps2", "roll_peak_dps")


def write(name, campaign):
    with open(name, "w", encoding="utf-8") as file:
        json.dump(campaign, file)
    return name


def rows_of(text):
    return [{key: float(value) for key, value in row.items()} for row in csv.DictReader(io.StringIO(text))]


def flown(name):
    store = name.replace(".json", ".h5")
    must("fly", name, "-o", store, "--flights", N_FLIGHTS, "-q")
    with h5py.File(store) as kept:
        return {measure: kept["measures"][measure][:] for measure in MEASURES}


def feeds_back(label, campaign, columns):
    """The campaign with its own coefficients as its table."""
    plain = write(f"{label}.json", campaign)
    text = must("check", plain, "--aero", "--csv")
    with open(f"{label}.csv", "w", encoding="utf-8") as file:
        file.write(text)
    fed = json.loads(json.dumps(campaign))
    fed["aero"]["table_csv"] = f"{label}.csv"
    again = write(f"{label}-fed.json", fed)
    before, after = rows_of(text), rows_of(must("check", again, "--aero", "--csv"))
    ok(len(before) == len(after) > 50 and before[-1]["mach"] == 6, f"{label}: {len(before)} and {len(after)} rows")
    ok(set(columns) <= before[0].keys() == after[0].keys(), f"{label}: columns {sorted(before[0])} and {sorted(after[0])}")
    for old, new in zip(before, after):
        for key, value in old.items():
            near(f"{label}: {key} at Mach {old['mach']}", new.get(key), value, 1e-8 * (1 + abs(value)))
    old, new = flown(plain), flown(again)
    for measure in MEASURES:
        for flight in range(N_FLIGHTS):
            near(f"{label}: {measure} of flight {flight}", new[measure][flight], old[measure][flight],
                 1e-6 * (1 + abs(old[measure][flight])))


# From the geometry, with everything: a boat-tail, an exit area, tabs, uneven fins, factors far from one.
full = json.loads(json.dumps(first))
del full["aero"]["table_csv"]
full["vehicle"]["mass"]["burnt_cm_m"] = normal(1.49, 0.01)
full["body"] = [{"station_m": 2.34, "length_m": 0.01, "fore_diameter_m": 0.098, "aft_diameter_m": 0.09}]
full["motor"]["exit_area_m2"] = 0.002
full["fins"].append({"count": 3, "root_chord_m": 0.08, "tip_chord_m": 0.05, "span_m": 0.04, "sweep_m": 0.02, "thickness_m": 0.002,
                     "station_m": 1.7, "misalignment_deg": normal(0, 0.1)})
full["aero"].update({"axial_factor": normal(1.1, 0.05), "normal_factor": normal(0.9, 0.03), "centre_of_pressure_shift_m": normal(0.05, 0.02),
                     "pitch_damping_factor": normal(1.3, 0.1), "friction_factor": normal(1.2, 0.1), "base_factor": normal(0.8, 0.1),
                     "wave_factor": normal(1.1, 0.1), "fin_drag_factor": normal(0.9, 0.1), "body_lift_factor": normal(0.7, 0.1)})
feeds_back("full", full, ("ca_on", "ca_off", "ca_friction", "ca_base", "ca_wave", "ca_fin", "cmq_loaded", "cmq_burnt", "fin_slope_per_rad",
                          "fin_station_m", "fin_slope_2_per_rad", "fin_station_2_m", "cl_delta_2_per_rad"))

# The same where the centre of mass stays: the slope of the damping is then the estimate's own.
still = json.loads(json.dumps(full))
still["vehicle"]["mass"].update({"loaded_cm_m": normal(1.55, 0.01), "burnt_cm_m": normal(1.55, 0.01)})
feeds_back("still", still, ("cmq_loaded",))

# From a table: its whole drag, its pitch damping, its roll by incidence.
tunnel = json.loads(json.dumps(first))
tunnel["aero"].update({"table_csv": "tunnel.csv", "induced_roll": 0.5, "induced_roll_factor": normal(1.5, 0.2)})
with open("tunnel.csv", "w", encoding="utf-8") as file:
    file.write("mach,ca_off,cmq,induced_roll\n0,0.45,-1500,2\n0.95,0.5,-1700,4\n2,0.4,-1600,1\n")
feeds_back("tunnel", tunnel, ("ca_on", "ca_off", "cmq", "induced_roll"))

# What a table may not hold together, and what it is warned of.
head, line = "mach,ca_off,ca_on", "0,0.5,0.44"
PARTS = "ca_friction,ca_base,ca_wave,ca_fin"
for columns, values, words in (
        (f"{head},{PARTS}", f"{line},0.3,0.1,0.05,0.04", "ca_off 0.5 at Mach 0, where its parts add up to 0.49"),
        (f"{head},ca_base", f"{line},0.1", "ca_off beside 1 of the drag's parts"),
        ("mach,cmq,cmq_loaded,cmq_burnt", "0,-100,-100,-100", "cmq beside cmq_loaded and cmq_burnt"),
        ("mach,cmq_loaded", "0,-100", "cmq_loaded without cmq_burnt"),
        ("mach,cmq_burnt", "0,-100", "cmq_burnt without cmq_loaded")):
    with open("odd.csv", "w", encoding="utf-8") as file:
        file.write(f"{columns}\n{values}\n")
    odd = json.loads(json.dumps(first))
    odd["aero"]["table_csv"] = "odd.csv"
    said = call("check", write("odd.json", odd), code=3).stderr
    ok(words in said and "/aero/table_csv" in said, f"{columns}: {said}")
with open("odd.csv", "w", encoding="utf-8") as file:
    file.write(f"{head},{PARTS}\n{line},0.3,0.1,0.05,0.05\n")
said = call("check", "odd.json").stderr
ok("the ca_on 0.44 at Mach 0 is not flown" in said and "make 0.5 while the motor burns" in said, said)
with open("odd.csv", "w", encoding="utf-8") as file:
    file.write("mach,ca_base\n0,0.25\n")
rows = json.loads(must("check", "odd.json", "--aero", "--json"))["rows"]
plain = json.loads(json.dumps(first))
del plain["aero"]["table_csv"]
others = json.loads(must("check", write("plain.json", plain), "--aero", "--json"))["rows"]
for row, other in zip(rows, others):
    near(f"base drag at Mach {row['mach']}", row["ca_base"], 0.25, 1e-12)
    near(f"all drag at Mach {row['mach']}", row["ca_off"], other["ca_off"] - other["ca_base"] + 0.25, 1e-12)
finish()
