# `check --aero`: the coefficients as text, CSV and JSON, from a table and from the geometry alone.
. "$(dirname "$0")/expect.sh"
take_campaign

run check good.json --aero
expect_code 0
expect_silent_err
expect_out '^ Mach  burn coast  fric  base  wave  fins'
ok 'a line has more than 80 columns' [ -z "$(awk 'length > 80' out)" ]
expect_out '^ Mach  1 /rad      m  2 /rad      m  roll  loaded incidence'
expect_out '^aero.axial_factor 1, aero.normal_factor 1'
ok 'Mach 5 is not the last row' sh -c 'grep -E "^ [0-9]\.[0-9]{2} " out | tail -1 | grep -q "^ 5.00 "'

# Without the table the drag is the sum of its parts; the JSON says the same as the CSV; a boat-tail lowers the normal force.
edit "del c['aero']['table_csv']"
cp bad.json plain.json
run check plain.json --aero --csv
expect_code 0
expect_silent_err
cp out plain.csv
run check plain.json --aero --json
expect_code 0
cp out aero.json
edit "del c['aero']['table_csv']; d = c['vehicle']['diameter_m']; f = c['fins'][0]; f['station_m'] -= 0.15; c['body'] = [{'station_m': c['vehicle']['length_m'] - 0.15, 'length_m': 0.15, 'fore_diameter_m': d, 'aft_diameter_m': 0.8 * d}]; c['vehicle']['nose']['shape'] = 'von_karman'"
run check bad.json
expect_code 0
expect_out 'von Karman nose, 1 body section, 1 fin set'
expect_out 'all coefficients come from the geometry'
run check bad.json --aero --csv
expect_code 0
cp out tail.csv
cat >compare.py <<'PYTHON'
import csv, json
plain = [{k: float(v) for k, v in row.items()} for row in csv.DictReader(open("plain.csv"))]
tail = [{k: float(v) for k, v in row.items()} for row in csv.DictReader(open("tail.csv"))]
rows = json.load(open("aero.json"))["rows"]
assert len(plain) == len(rows) > 50 and plain[0]["mach"] == 0 and abs(plain[-1]["mach"] - 6) < 1e-9
for a, b in zip(plain, rows):
    assert a.keys() == b.keys() - {"induced_roll"}
    assert a["fin_slope_per_rad"] > 1 and a["fin_station_m"] > 2 and a["fin_slope_2_per_rad"] == 0
    assert all(abs(a[k] - b[k]) <= 1e-9 * abs(b[k]) for k in a)
    parts = a["ca_friction"] + a["ca_base"] + a["ca_wave"] + a["ca_fin"]
    assert parts > 0 and abs(a["ca_off"] - parts) < 1e-8
    assert a["cmq_burnt"] < 0 and a["cl_p"] < 0
for a, b in zip(plain, tail):
    assert abs(a["cn_alpha_per_rad"] - b["cn_alpha_per_rad"] - 2 * (1 - 0.64)) < 1e-6
    assert b["ca_base"] < a["ca_base"]
PYTHON
ok 'tables differ from what they should be' "$python" compare.py

# The estimate is flown.
run fly plain.json -o plain.h5 --flights 20 -q
expect_code 0
run odds plain.h5
expect_out '^Apogee     reached by all'

run check good.json --csv
expect_code 2
ok 'no word about --aero' grep -q -- '--csv goes with --aero' err
finish
