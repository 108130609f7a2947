# Drives, sensors and cameras as a campaign gives them: parts that cannot work are refused with a reason, odd ones fly and are counted;
# a pull-out torque table decides what a stepper loses; the verdict of each frame is in the replay.
. "$(dirname "$0")/expect.sh"
take_campaign

# hold TEXT STORE CONDITION: a condition on the store's measures, columns of the dict `m`.
hold() {
    text=$1
    store=$2
    condition=$3
    ok "$text" "$python" -c 'import h5py, sys
import numpy as np
with h5py.File(sys.argv[1]) as store:
    m = {name: column[:] for name, column in store["measures"].items()}
assert eval(sys.argv[2]), {name: (v.min(), v.max()) for name, v in m.items() if name in sys.argv[2]}' "$store" "$condition"
}

# A drive that cannot turn its load, and a gear that cannot be.
cp stepper.json good.json
edit 'c["drive"]["holding_torque_Nm"] = 0.0005'
run check bad.json
expect_code 3
expect_err '/drive/holding_torque_Nm: this drive cannot turn its load: its holding torque is 0.0027 N m .*take a stronger motor'
run fly bad.json -o bad.h5
expect_code 3
ok 'a store was begun' [ ! -e bad.h5 ]
cp servo.json good.json
edit 'c["drive"]["torque_Nm"] = 0.001'
run check bad.json
expect_code 3
expect_err '/drive/torque_Nm: this drive cannot turn its load: its greatest torque is 0.0002 N m '
# Its limit is enough, but not what it gives for a command of its top rate, or what its cogging leaves of it.
for weak in '["torque_per_rate_Nms"] = 1e-6' '["cogging_Nm"] = 0.2'; do
    edit "c[\"drive\"]$weak"
    run check bad.json
    expect_code 3
    expect_err '/drive/torque_Nm: this drive cannot turn its load: its greatest torque is'
done
printf 'step_rate_hz,torque_Nm\n0,0.001\n4000,0.001\n' >torque.csv
cp stepper.json good.json
edit 'for key in ("winding_current_A", "winding_resistance_ohm", "winding_inductance_H", "supply_V"): c["drive"].pop(key)
c["drive"]["pull_out_csv"] = "torque.csv"'
run check bad.json
expect_code 3
expect_err '/drive: this drive cannot turn its load: its pull-out torque at the slowest rate it obeys .deadband_dps. is 0.0048[0-9]* N m'
rm torque.csv
# Nudges without end between are no nudges.
cp asleep.json good.json
edit 'c["drive"]["nudge_interval_s"] = 1e-6'
run check bad.json
expect_code 3
expect_err '/drive/nudge_interval_s: got 1e-06, wanted 0 for none, or at least 0.05 s between nudges'
# A sensorless drive has a torque if one is given: too little is refused, just enough stalls while the thrust loads the bearing.
cp first.json good.json
edit 'c["drive"]["torque_limit_Nm"] = 0.0008'
run check bad.json
expect_code 3
expect_err '/drive/torque_limit_Nm: this drive cannot turn its load: its greatest torque is 0.0152 N m'
edit 'c["drive"]["torque_limit_Nm"] = 0.0009'
run check bad.json
expect_code 0
expect_err 'warning: .*/drive/torque_limit_Nm: at the middle design.s greatest acceleration, .* cannot turn its load from standstill'
run fly bad.json -o limited.h5 --flights 64 --quiet
hold 'no drive stalls under thrust' limited.h5 '(m["stalled_s"] > 0.1).mean() > 0.3'
edit 'c["drive"]["torque_limit_Nm"] = 0.1'
run fly bad.json -o able.h5 --flights 64 --quiet
hold 'a drive with torque to spare stalls' able.h5 'm["stalled_s"].max() == 0'
for campaign in first stepper servo; do
    cp $campaign.json good.json
    edit 'c["drive"]["gear_ratio"] = 0'
    run check bad.json
    expect_code 3
    expect_err '/drive/gear_ratio: got 0, wanted 0\.1 to 10000'
done

# Controller rates that do not divide into the gyro's, or into the steps: those with a common tick fly, the others say why.
cp first.json good.json
edit 'c["controller"]["rate_hz"] = 333'
run check bad.json
expect_code 3
expect_err_lines 1
expect_err '/controller/rate_hz: gyro.rate_hz 250 and controller.rate_hz 333 have no common tick of at most 2000 Hz .*nearest for the controller: [0-9]+'
for rate in 40 70 90 375; do
    edit "c['controller']['rate_hz'] = $rate"
    run fly bad.json -o rate.h5 --flights 16 --quiet
    case $rate in
    90) expect_refusal 3 '/controller/rate_hz: ' ;; # with the gyro's 250 it would take 2250 ticks a second
    *) expect_code 0 ;;
    esac
    rm -f rate.h5
done

# A gyro whose range is below the roll: it flies, `check` warns, and the time at the limit is counted.
edit 'c["gyro"]["range_dps"] = 60; c["gyro"]["mount"] = "vehicle"; c["encoder"] = {"rate_hz": 250}'
run check bad.json
expect_code 0
expect_err 'warning: .*/gyro/range_dps: 60 deg/s is less than one turn a second'
run fly bad.json -o range.h5 --flights 64 --quiet
expect_code 0
hold 'no gyro is counted as saturated' range.h5 '(m["gyro_saturated_s"] > 1).mean() > 0.9'
run fly good.json -o wide.h5 --flights 64 --quiet
hold 'a gyro of wide range is counted as saturated' wide.h5 'm["gyro_saturated_s"].max() == 0'
hold 'a saturated gyro holds the picture as well as a good one' range.h5 'np.median(m["held_fraction"]) < 0.5'

# Cameras without frames.
edit 'c["cameras"][0]["frame_rate_hz"] = 0'
run check bad.json
expect_code 3
expect_err '/cameras/0/frame_rate_hz: got 0, wanted 1 to 1000'
edit 'c["cameras"] = []'
run check bad.json
expect_code 3
expect_err '/cameras: '
edit 'del c["cameras"]'
run check bad.json
expect_code 3
expect_err '/cameras: '
edit 'c["cameras"][0].update(frame_rate_hz=1, shutter_s=0.002); c["run"]["time_limit_s"] = 1'
run fly bad.json -o frames.h5 --flights 16 --quiet
expect_code 0
hold 'an ascent with hardly a frame has no finite figures' frames.h5 'np.isfinite(m["usable_fraction"]).all() and (m["usable_s"] <= 1).all()'

# Starts that fail: with a lock-out the picture is lost more often; the measures count them. One way only: half the rolls are held.
edit 'c["drive"]["failed_start"] = "lock_out"'
run check bad.json
expect_code 3
expect_err '/drive/failed_start: has no effect without drive.start_odds'
edit 'c["drive"].update(start_odds=0.5, failed_start="lock_out")'
run fly bad.json -o lock.h5 --flights 200 --quiet
expect_code 0
hold 'no start failed, or none was locked out' lock.h5 'm["failed_starts"].sum() > 100 and m["locked_out_s"].max() > 0.5'
edit 'c["drive"]["turns"] = "negative"'
run fly bad.json -o negative.h5 --flights 200 --quiet
edit 'c["drive"]["turns"] = "positive"'
run fly bad.json -o positive.h5 --flights 200 --quiet
ok 'a drive that turns one way holds as many flights as one that turns the other way' "$python" -c 'import h5py, numpy as np
held = [h5py.File(name)["measures/held_fraction"][:] for name in ("negative.h5", "positive.h5")]
# The cant is positive: most flights roll positive, and only a drive that turns negative holds them.
assert (held[0] > held[1]).mean() > 0.7, (np.median(held[0]), np.median(held[1]))'

# A stepper by a table of pull-out torque: strong, it keeps its steps; falling off early, it loses them; the table is in the store.
cp stepper.json good.json
winding='for key in ("winding_current_A", "winding_resistance_ohm", "winding_inductance_H", "supply_V"): c["drive"].pop(key)
c["drive"]["pull_out_csv"] = "torque.csv"'
printf 'step_rate_hz,torque_Nm\n0,0.018\n500,0.017\n4000,0.012\n' >torque.csv
edit "$winding"
run check bad.json
expect_code 0
expect_silent_err
run fly bad.json -o strong.h5 --flights 128 --quiet
expect_code 0
hold 'a strong stepper loses steps' strong.h5 'm["step_losses"].max() == 0'
cp bad.json strong.json
printf 'step_rate_hz,torque_Nm\n0,0.018\n300,0.012\n600,0.001\n4000,0\n' >torque.csv
run fly bad.json -o weak.h5 --flights 128 --quiet
expect_code 0
hold 'a stepper whose torque falls off loses no steps' weak.h5 '(m["step_losses"] > 0).mean() > 0.5 and m["slipping_s"].max() > 1'
rm torque.csv
run replay weak.h5 --flight 3 -o weak.csv
expect_code 0
expect_err 'all stored numbers equal, bit for bit'
run odds strong.h5 weak.h5
expect_out '^drive\.pull_out_csv$'
expect_out 'A: torque\.csv \([0-9]+ bytes, sum [0-9a-f]{8}\); B: torque\.csv'
printf 'step_rate_hz,torque_Nm\n500,0.018\n300,0.012\n' >torque.csv
run check bad.json
expect_code 3
expect_err 'torque\.csv'
rm torque.csv
run check bad.json
expect_code 3
expect_err 'torque\.csv'
cp first.json good.json
printf 'step_rate_hz,torque_Nm\n0,0.018\n4000,0.012\n' >torque.csv
edit 'c["drive"]["pull_out_csv"] = "torque.csv"'
run check bad.json
expect_code 3
expect_err '/drive/pull_out_csv: is for drive.kind "stepper" only; remove it, or change the kind'

# The verdict of each frame: counted from the replay it is what the store keeps, and it follows from smear and roll by the limits.
for flight in 0 5; do
    run replay wide.h5 --flight $flight -o frames.csv --overwrite
    expect_code 0
    ok 'the frames of the replay are not those of the store' "$python" - $flight <<'END'
import csv, json, sys
import h5py
flight = int(sys.argv[1])
rows = list(csv.DictReader(open("frames.csv")))
camera = json.load(open("good.json"))["cameras"][0]
rate, verdicts, before = camera["frame_rate_hz"], [], 0
for row in rows:
    for _ in range(int(row["frames_0"]) - before):
        verdicts.append(int(row["usable_0"]))
        smear, roll = float(row["smear_0_px"]), abs(float(row["residual_dps"]))
        if abs(smear - camera["smear_limit_px"]) > 1e-6 and abs(roll - camera["rate_limit_dps"]) > 1e-6:
            assert verdicts[-1] == (smear <= camera["smear_limit_px"] and roll <= camera["rate_limit_dps"]), row
    before = int(row["frames_0"])
with h5py.File("wide.h5") as store:
    kept = {name: store["measures"][name][flight] for name in ("usable_s", "longest_clip_s", "usable_fraction")}
longest = max(len(run) for run in "".join(map(str, verdicts)).split("0"))
assert 0 < sum(verdicts) < len(verdicts), (sum(verdicts), len(verdicts))
assert abs(sum(verdicts) - kept["usable_s"] * rate) < 1e-6, (sum(verdicts), kept)
assert abs(sum(verdicts) / len(verdicts) - kept["usable_fraction"]) < 1e-9
assert abs(longest - kept["longest_clip_s"] * rate) < 1e-6, (longest, kept)
END
done

# The demonstration's parts are such as published tables have (tests/reference): rolling bearings' friction, hobby gyros.
ok 'parts of the demonstration are outside the published ranges' "$python" - "$root" <<'END'
import csv, glob, json, sys
def rows(name):
    lines = [line for line in open(f"{sys.argv[1]}/tests/reference/{name}", encoding="utf-8") if not line.startswith("#")]
    return list(csv.DictReader(lines))
ball = [float(row["mu"]) for row in rows("bearing_friction.csv") if "ball" in row["bearing_type"]]
typical = next(row for row in rows("imu_gyro_typical.csv") if row["part_class"].startswith("trade typical"))
def between(value, text):
    low, high = (float(x) for x in text.split(" ")[0].split("-"))
    return low <= value <= high
for name in ("first", "stepper", "servo", "asleep"):
    c = json.load(open(f"{sys.argv[1]}/campaigns/{name}.json", encoding="utf-8"))
    assert min(ball) <= c["platform"]["bearing"]["load_friction"] <= max(ball), name
    gyro = c["gyro"]
    assert gyro["range_dps"] == float(typical["full_scale_dps"]), name
    assert between(gyro["noise_dps_rtHz"], typical["noise_dps_per_rtHz"]), name
    assert between(gyro["bias_dps"]["sd"], typical["initial_bias_dps"]), name
    assert between(100 * gyro["scale_error"]["sd"], typical["scale_tol_pct"]), name
END

finish
