"""The flight of the bare problem, without its platform, in NumPy: all flights at once, classical Runge-Kutta steps, one row an
array over flights. As one would write it for speed there: tables on a uniform grid and all columns fetched with one index.

usage: batch_numpy.py ROLLCAST CAMPAIGN FLIGHTS
prints flights per second, mean apogee [m], its standard error [m]"""
import csv
import io
import json
import os
import subprocess
import sys
import time

import numpy as np

CELL = 0.02  # of the Mach grid
COLUMNS = ("ca_on", "ca_off", "cn_alpha_per_rad", "xcp_m", "cmq_loaded", "cmq_burnt", "cl_delta_per_rad", "cl_p")


def air_of(height):
    """Density and speed of sound below 11 km: U.S. Standard Atmosphere 1976."""
    geopotential = 6356766.0 * height / (6356766.0 + height)
    temperature = 288.15 - 0.0065 * geopotential
    pressure = 101325.0 * (temperature / 288.15) ** (9.80665 * 28.9644 / 8314.32 / 0.0065)
    return pressure / (287.05287 * temperature), np.sqrt(1.4 * 287.05287 * temperature)


class Batch:
    def __init__(self, rollcast, path, n):
        campaign = json.load(open(path, encoding="utf-8"))
        text = subprocess.run([rollcast, "check", path, "--aero", "--csv"], check=True, capture_output=True, text=True).stdout
        rows = list(csv.DictReader(io.StringIO(text)))
        mach = np.array([float(row["mach"]) for row in rows])
        grid = np.arange(0.0, 5.0, CELL)
        value = np.array([np.interp(grid, mach, [float(row[name]) for row in rows]) for name in COLUMNS])
        self.value, self.rise = value[:, :-1], np.diff(value, axis=1)
        thrust = [line.split(",") for line in open(os.path.join(os.path.dirname(path), campaign["motor"]["thrust_csv"]), encoding="utf-8")
                  if line[0].isdigit()]
        self.time, self.thrust = np.array(thrust, dtype=float).T
        self.impulse = np.concatenate(([0.0], np.cumsum(0.5 * np.diff(self.time) * (self.thrust[1:] + self.thrust[:-1]))))
        mass = campaign["vehicle"]["mass"]
        self.ends = [(mass["loaded_" + key], mass["burnt_" + key])
                     for key in ("kg", "cm_m", "roll_inertia_kgm2", "pitch_inertia_kgm2")]
        self.diameter = campaign["vehicle"]["diameter_m"]
        self.area = 0.25 * np.pi * self.diameter ** 2
        self.site, self.rail = campaign["site"], campaign["rail"]
        rng = np.random.default_rng(1)
        draw = lambda of: rng.normal(of["mean"], of["sd"], n)
        self.factor = draw(campaign["motor"]["impulse_factor"])
        self.cant = np.radians(draw(campaign["fins"][0]["cant_deg"]))
        self.axial = draw(campaign["aero"]["axial_factor"])
        self.forcing = draw(campaign["aero"]["roll_forcing_factor"])
        wind = campaign["wind"]
        self.wind = wind["speed_mps"]["median"] * np.exp(rng.normal(0.0, wind["speed_mps"]["spread"], n))
        self.wind_from, self.exponent = np.radians(wind["from_deg"]), wind["exponent"]
        self.n = n

    def slope(self, t, y, is_free):
        east, north, up, ve, vn, vu, qw, qx, qy, qz, p, q, r = y
        share = np.interp(t, self.time, self.impulse) / self.impulse[-1]
        thrust = np.interp(t, self.time, self.thrust) * self.factor
        mass, cm, ix, iy = (loaded + share * (burnt - loaded) for loaded, burnt in self.ends)
        density, sound = air_of(self.site["elevation_m"] + up)
        gust = self.wind * (np.maximum(up, 1e-3) / 10.0) ** self.exponent
        we, wn = ve + gust * np.sin(self.wind_from), vn + gust * np.cos(self.wind_from)
        axis = np.array([[1 - 2 * (qy * qy + qz * qz), 2 * (qx * qy - qw * qz), 2 * (qx * qz + qw * qy)],
                         [2 * (qx * qy + qw * qz), 1 - 2 * (qx * qx + qz * qz), 2 * (qy * qz - qw * qx)],
                         [2 * (qx * qz - qw * qy), 2 * (qy * qz + qw * qx), 1 - 2 * (qx * qx + qy * qy)]])
        along, side, down = (axis[0, i] * we + axis[1, i] * wn + axis[2, i] * vu for i in range(3))
        speed = np.sqrt(along * along + side * side + down * down) + 1e-9
        place = np.minimum(speed / sound / CELL, self.value.shape[1] - 1.001)
        cell = place.astype(int)
        on, off, cn, xcp, cmq0, cmq1, forcing, damping = self.value[:, cell] + (place - cell) * self.rise[:, cell]
        qs = 0.5 * density * speed * speed * self.area
        axial = self.axial * (on if t < self.time[-1] else off)
        fx = (thrust - qs * axial * np.sign(along)) / mass
        across = -qs / speed * cn
        fy, fz = across * side / mass, across * down / mass
        rate = 0.5 * self.diameter / speed
        pitch_damping = qs * self.diameter * rate * (cmq0 + share * (cmq1 - cmq0))
        restoring = -qs / speed * cn * (xcp - cm)
        ae, an, au = (axis[i, 0] * fx + axis[i, 1] * fy + axis[i, 2] * fz for i in range(3))
        au = au - 9.80665 * (6356766.0 / (6356766.0 + self.site["elevation_m"] + up)) ** 2
        azimuth, elevation = np.radians(self.rail["azimuth_deg"]), np.radians(self.rail["elevation_deg"])
        rail = np.cos(elevation) * np.sin(azimuth), np.cos(elevation) * np.cos(azimuth), np.sin(elevation)
        guided = np.maximum(ae * rail[0] + an * rail[1] + au * rail[2], 0.0)
        ae, an, au = (np.where(is_free, a, guided * r) for a, r in zip((ae, an, au), rail))
        dp = is_free * qs * self.diameter * (self.forcing * forcing * self.cant + damping * rate * p) / ix
        dq = is_free * (restoring * down + pitch_damping * q - ix * p * r) / iy
        dr = is_free * (-restoring * side + pitch_damping * r + ix * p * q) / iy
        return np.array([ve, vn, vu, ae, an, au, -0.5 * (qy * q + qz * r), 0.5 * (qy * r - qz * q), 0.5 * (qw * q - qx * r),
                         0.5 * (qw * r + qx * q), dp, dq, dr])

    def fly(self):
        turn = 0.5 * (0.5 * np.pi - np.radians(self.rail["azimuth_deg"]))
        lift = -0.5 * np.radians(self.rail["elevation_deg"])
        y = np.zeros((13, self.n))
        y[6:10] = np.array([[np.cos(turn) * np.cos(lift)], [-np.sin(turn) * np.sin(lift)], [np.cos(turn) * np.sin(lift)],
                            [np.sin(turn) * np.cos(lift)]])
        apogee, t = np.full(self.n, np.nan), 0.0
        while np.isnan(apogee).any():
            h = 0.01 if t < 8.0 else 0.02
            is_free = np.sqrt((y[0:3] ** 2).sum(axis=0)) >= self.rail["length_m"]
            k1 = self.slope(t, y, is_free)
            k2 = self.slope(t + 0.5 * h, y + 0.5 * h * k1, is_free)
            k3 = self.slope(t + 0.5 * h, y + 0.5 * h * k2, is_free)
            k4 = self.slope(t + h, y + h * k3, is_free)
            after = y + h / 6.0 * (k1 + 2.0 * (k2 + k3) + k4)
            turned = np.isnan(apogee) & is_free & (after[5] <= 0.0)
            apogee[turned] = (y[2] + 0.5 * y[5] * h * y[5] / np.maximum(y[5] - after[5], 1e-12))[turned]
            y, t = after, t + h
        return apogee


def main(rollcast, path, n):
    batch = Batch(rollcast, path, int(n))
    begun = time.process_time()
    apogee = batch.fly()
    taken = time.process_time() - begun
    print(batch.n / taken, apogee.mean(), apogee.std() / np.sqrt(batch.n))


if __name__ == "__main__":
    main(*sys.argv[1:])
