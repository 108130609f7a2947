# Each class of bad input, end to end through check and fly: one line with file, place, value and what is wanted; exit 3;
# no store made.
. "$(dirname "$0")/expect.sh"
take_campaign

# refused PATTERN: bad.json is refused by both commands in the same words.
refused() {
    for verb in check 'fly -o s.h5 --flights 1'; do
        # shellcheck disable=SC2086
        run $verb bad.json
        expect_refusal 3 "$1"
    done
    ok 'a store was made' [ ! -e s.h5 ]
}

run check good.json
expect_code 0
expect_silent_err

printf 'not json' >bad.json
refused 'bad\.json:1:.*not JSON'
: >bad.json
refused 'bad\.json.*empty'
printf '{"name": "x", ' >bad.json
refused 'bad\.json:1:.*(ends too early|not JSON)'
printf '[1, 2]' >bad.json
refused 'bad\.json.*object'
head -c 100 /dev/urandom | tr -d '\000' >bad.json
refused 'bad\.json'
sed 's/"seed": *[0-9]*/"seed": NaN/' good.json >bad.json
refused 'bad\.json:[0-9]+:[0-9]+: got NaN'
sed 's/"seed": *[0-9]*/"seed": 1e999/' good.json >bad.json
refused '/run/seed: '
edit 'c["vehicle"]["diametre_m"] = c["vehicle"].pop("diameter_m")'
refused 'bad\.json: /vehicle/diametre_m: .*diameter_m'
edit 'c["criteria"][0]["odds"] = 1.5'
refused '/criteria/0/odds: got 1\.5'
edit 'c["name"] = "first\0second"'
refused 'bad\.json:[0-9]+:[0-9]+: got the character \\u0000'
edit 'del c["rail"]["length_m"]'
refused '/rail/length_m: .*missing'
edit 'c["rail"]["length_m"] = "long"'
refused '/rail/length_m: got "long"'
edit 'c["rail"]["length_m"] = -3'
refused '/rail/length_m: got -3.*0\.1 to 100'
edit 'c["wind"]["speed_mps"] = {"distribution": "normal", "mean": 5, "sd": -1}'
refused '/wind/speed_mps/sd: '
edit 'c["wind"]["speed_mps"] = {"distribution": "nromal", "mean": 5, "sd": 1}'
refused '/wind/speed_mps/distribution: .*normal'
edit 'c["criteria"][0]["measure"] = "held_fracton"'
refused '/criteria/0/measure: .*held_fraction'
edit 'c["motor"]["thrust_csv"] = "nowhere.csv"'
refused 'nowhere\.csv'
# Geometry that cannot be.
edit 'c["fins"][0]["thickness_m"] = -0.003'
refused '/fins/0/thickness_m: got -0\.003'
edit 'c["fins"][0]["root_radius_m"] = 0.2'
refused '/fins/0/root_radius_m: got 0\.2.*off the tube'
edit 'c["fins"][0]["station_m"] = 0.05'
refused '/fins/0/station_m: got 0\.05.*behind the nose'
edit 'c["vehicle"]["mass"]["burnt_cm_m"] = 9'
refused '/vehicle/mass/burnt_cm_m: got 9.*inside the vehicle'
edit 'c["fins"][0]["count"] = 1'
refused '/fins/0/count: got 1, wanted 2 to 8'
edit 'c["motor"]["nozzle_station_m"] = 5'
refused '/motor/nozzle_station_m: got 5.*off the vehicle'
edit 'c["motor"]["offset_m"] = 0.3'
refused '/motor/offset_m: got 0\.3.*thrust line is outside'
edit 'c["vehicle"]["mass"]["offset_m"] = 0.2'
refused '/vehicle/mass/offset_m: got 0\.2.*outside the vehicle'
# Inertias that no body has: twice the pitch inertia, grams and centimetres for kilograms and metres, propellant of none.
edit 'c["vehicle"]["mass"]["burnt_pitch_inertia_kgm2"] = 0.001'
refused '/vehicle/mass/burnt_roll_inertia_kgm2: .*twice burnt_pitch_inertia_kgm2'
edit 'c["vehicle"]["mass"]["loaded_pitch_inertia_kgm2"] = 5.6e7'
refused '/vehicle/mass/loaded_pitch_inertia_kgm2: got 5'
edit 'c["vehicle"]["mass"]["burnt_pitch_inertia_kgm2"] = 5.5'
refused '/vehicle/mass/burnt_pitch_inertia_kgm2: got 5\.5, wanted at most [0-9.]+: '
edit 'c["platform"]["inertia_kgm2"] = 0.02'
refused '/platform/inertia_kgm2: got 0\.02.*half of the vehicle'

# Several mistakes are all said at once, a line each.
edit 'c["rail"]["length_m"] = -3; c["pad"]["wait_s"] = "soon"; c["name"] = 7'
run check bad.json
expect_code 3
expect_err_lines 3
expect_silent_out

# The thrust table.
edit 'c["motor"]["thrust_csv"] = "bad.csv"'
printf 'time_s,thrust_N\n0,0\n2,900\n1,900\n3,0\n' >bad.csv
refused 'bad\.csv.*(rise|order|sorted)'
printf 'time_s,thrust_N\n' >bad.csv
refused 'bad\.csv'
: >bad.csv
refused 'bad\.csv.*empty'
printf 'time_s,thrust_N\n0,0\n1,many\n2,0\n' >bad.csv
refused 'bad\.csv.*many'
printf 'time_s,thrust_N\n0,0\n1,nan\n2,0\n' >bad.csv
refused 'bad\.csv.*nan'
sed 's/,/;/g; s/\./,/g' "$root"/campaigns/"$("$python" -c 'import json
print(json.load(open("good.json"))["motor"]["thrust_csv"])')" >bad.csv
refused 'bad\.csv:[0-9]+: .*separated by ";"'
head -c 3000 /dev/urandom >bad.csv
refused 'bad\.csv:[0-9]+: .*no text'
rm bad.csv && mkdir bad.csv
refused 'bad\.csv'
rmdir bad.csv
# A byte-order mark and CRLF are how some spreadsheets write: taken as they are meant.
"$python" - <<'END'
import json
name = json.load(open("good.json"))["motor"]["thrust_csv"]
text = open(name, newline="").read().replace("\r\n", "\n")
open("bad.csv", "w", newline="", encoding="utf-8").write("\ufeff" + text.replace("\n", "\r\n"))
END
run check bad.json
expect_code 0
expect_silent_err

# Unreadable, a folder, standard input.
mkdir folder
run check folder
expect_refusal 3 'folder'
if [ "$(id -u)" -ne 0 ]; then
    cp good.json locked.json && chmod 000 locked.json
    run check locked.json
    expect_refusal 3 'locked\.json.*[Pp]ermission'
fi
# A pipe that nobody writes to: nothing waits for it.
mkfifo pipe.json
run check pipe.json
expect_refusal 3 'pipe\.json: is not a regular file; use - for standard input'
edit 'c["motor"]["thrust_csv"] = "pipe.json"'
refused 'pipe\.json.*is not a regular file'
what='rollcast check - <good.json'
code=0
"$program" check - <good.json >out 2>err || code=$?
expect_code 0
run check good.json --json
expect_code 0
ok 'check --json is no JSON' "$python" -c 'import json
d = json.load(open("out"))
assert d["schema"] == "rollcast-campaign/1" and d["quantities"]'
run check good.json
expect_code 0
ok 'a line has more than 80 columns' [ -z "$(awk 'length > 80' out)" ]
for section in Layout Asked 'Uncertain, drawn anew' Fixed; do
    expect_out "^$section"
done
expect_out '^  camera      side: 60 frames/s, 1920 x 1080 px, on the platform, lens outward$'
ok 'a battery or an encoder that the campaign lacks' [ -z "$(grep -E '^  (battery|encoder) ' out)" ]
edit 'c["battery"] = {"full_V": 8.4, "low_V": {"distribution": "normal", "mean": 6, "sd": 0.1}, "capacity_As": 4000, "quiet_current_A": 0.1}
c["encoder"] = {"rate_hz": 250}
c["cameras"][0].update(lens_angle_deg=20, line_time_us=12.5, height_px=1200)
c["cameras"].append(dict(c["cameras"][0], name="aft", lens_angle_deg=180, line_time_us=0, mount="vehicle"))'
run check bad.json
expect_code 0
ok 'a line has more than 80 columns' [ -z "$(awk 'length > 80' out)" ]
expect_out '^  battery     8\.4 V full, about 6 V just before it is empty, 4000 A s$'
expect_out '^  encoder     between platform and vehicle, 250 samples/s$'
expect_out '^  camera      side: 60 frames/s, 1920 x 1200 px, on the platform, lens at 20$'
expect_out '^              deg, rolling shutter of 12\.5 us a line$'
expect_out '^  camera      aft: 60 frames/s, 1920 x 1200 px, on the vehicle, lens aft$'

finish
