"""A road ridden in small steps of time, for many bicycles at once, in numpy.

Written from the equations alone and in another way than the crate: time and not distance is stepped, explicitly, and
limits act on the acceleration. Run `python3 tour.py > tour.csv` for the table (some minutes), `python3 tour.py speed`
for the timings.
"""
import sys
import time

import numpy as np

G = 9.80665
ALPHA = 0.00393


def road(km, wind):
    """Slopes of three wave lengths in 10 m steps, a stop of 15 s every 2 km, wind turning every 1.5 km."""
    x = 10.0 * np.arange(km * 100)
    s = sum(a * np.sin(2 * np.pi * x / w) for a, w in ((0.03, 5000.0), (0.03, 1300.0), (0.015, 400.0)))
    w = np.where(np.arange(len(x)) % 300 < 150, wind, -wind)
    stops = np.arange(2000.0, km * 1000 + 1.0, 2000.0)
    return s, w, stops


def cell(s):
    """Open-circuit voltage of a nickel-rich cell, Chen et al. 2020."""
    x, y = 0.0263458 + 0.8842723 * s, 0.8539747 - 0.5901295 * s
    un = (1.9793 * np.exp(-39.3631 * x) + 0.2482 - 0.0909 * np.tanh(29.8538 * (x - 0.1234))
          - 0.04478 * np.tanh(14.9159 * (x - 0.2769)) - 0.0205 * np.tanh(30.4444 * (x - 0.6103)))
    up = (-0.8090 * y + 4.4875 - 0.0428 * np.tanh(18.5138 * (y - 0.5542)) - 17.7326 * np.tanh(15.7890 * (y - 0.3117))
          + 17.5842 * np.tanh(15.9308 * (y - 0.3120)))
    return up - un


GRID = np.linspace(0.0, 1.0, 4001)
OCV = cell(GRID)

BASE = dict(mass=115.0, cda=0.55 + 0.0044, crr=0.007, iw=0.2, r=0.34, rho=1.2, legs=100.0, legs_most=30.0, chain=0.95,
            ring=42.0, cogs=[34, 30, 26, 23, 20, 17, 15, 13, 11], cut=25 / 3.6, fastest=40 / 3.6, brake=1.5, cadence=70.0,
            slack=0.15, mid=False, ratio=np.inf, most=np.inf, R=0.11, kt=0.2, N=5.0, eta_g=0.93, drag=0.12, visc=2e-4,
            i_phase=45.0, i_batt=15.0, eta_c=0.96, ns=13, np_=4, rp=None, ah=5.0,
            rwc=0.45, rca=0.55, tau_w=190.0, tau_c=2300.0, air=20.0)
MID = dict(mid=True, R=0.09, kt=0.1, N=30.0, eta_g=0.9, drag=0.02, visc=2e-5, i_phase=30.0)
CASES = {
    "hub_full": {},
    "hub_following": dict(ratio=2.0, most=250.0),
    "hub_alone": dict(legs=0.0),
    "mid_full": dict(MID),
    "mid_following": dict(MID, ratio=2.0, most=300.0),
    "cargo": dict(MID, mass=190.0, cda=0.75 + 0.0044, crr=0.010, i_batt=18.0),
}


def ride(rides, km, wind, dt):
    """All rides at once; returns time, Wh at the terminals, lowest volts, hottest winding, charge left, braked Wh."""
    p = {k: np.array([c[k] for c in rides], dtype=float) for k in BASE if k not in ("cogs", "rp")}
    p["mid"] = p["mid"] > 0.5
    # 42 mohm sustained at 25 C, 20 kJ/mol to 20 C, aged by 1.2, 20 mohm leads.
    rp = 0.042 * np.exp(20000 / 8.314 * (1 / 293.15 - 1 / 298.15)) * 1.2 * p["ns"] / p["np_"] + 0.020
    ratios = p["ring"][0] / np.array(rides[0]["cogs"], dtype=float)
    s, w, stops = road(km, wind)
    sin, cos = s / np.sqrt(1 + s * s), 1 / np.sqrt(1 + s * s)
    n, end = len(rides), km * 1000.0
    x, v, soc = np.zeros(n), np.zeros(n), np.ones(n)
    tw, tc = p["air"].copy(), p["air"].copy()
    gear, nstop, wait = np.zeros(n, dtype=int), np.zeros(n, dtype=int), np.zeros(n)
    t, joule, low, hot, braked = np.zeros(n), np.zeros(n), np.full(n, 1e9), tw.copy(), np.zeros(n)
    m = p["mass"] + p["iw"] / p["r"] ** 2
    cw, cc = p["tau_w"] / p["rwc"], p["tau_c"] / p["rca"]
    wish = p["cadence"] * 2 * np.pi / 60
    weight = p["mass"] * G
    stops = np.append(stops, 1e12)
    while True:
        riding = x < end - 1e-9
        if not riding.any():
            break
        standing = wait > 0
        going = riding & ~standing
        # gear: out of the band, to the nearest by ratio
        turn = np.maximum(v, 1e-3) / p["r"]
        c = turn / ratios[gear]
        off = np.maximum(c / wish, wish / c)
        allc = turn[:, None] / ratios[None, :]
        best = np.argmin(np.maximum(allc / wish[:, None], wish[:, None] / allc), axis=1)
        gear = np.where(going & (off > 1 + p["slack"]), best, gear)
        i = ratios[gear]
        crank = turn / i
        k = np.minimum((x / 10.0).astype(int), len(s) - 1)
        tl = np.minimum(p["legs_most"], p["legs"] / crank)
        legs = tl * p["chain"] / i / p["r"]
        va = v + w[k]
        res = (0.5 * p["rho"] * p["cda"] * va * np.abs(va) + weight * p["crr"] * cos[k] + weight * sin[k]
               + 0.091 + 0.0087 * v)
        # motor
        mturn = np.where(p["mid"], crank, turn)
        lever = np.where(p["mid"], p["chain"] / i / p["r"], 1 / p["r"])
        rw = p["R"] * (1 + ALPHA * (tw - 20))
        kt = p["kt"] * (1 - 0.0011 * (tc - 20))
        emf = kt * p["N"] * mturn
        u0 = np.interp(soc, GRID, OCV) * p["ns"]
        pb = p["eta_c"] * p["i_batt"] * (u0 - rp * p["i_batt"])
        by_batt = (-emf + np.sqrt(emf * emf + 4 * rw * pb)) / (2 * rw)
        by_volt = np.maximum((u0 - emf) / (rw + rp / p["eta_c"]), 0)
        most_i = np.minimum(np.minimum(p["i_phase"], by_batt), by_volt)
        friction = p["drag"] + p["visc"] * p["N"] * mturn
        torque = np.maximum((kt * most_i - friction) * p["N"] * p["eta_g"], 0)
        follow = np.minimum(np.where(np.isfinite(p["ratio"]), p["ratio"], 0) * tl * crank, p["most"]) / mturn
        torque = np.minimum(torque, np.where(np.isfinite(p["ratio"]), follow, np.inf))
        # limits: cut-off for the motor, fastest and the way to the stop for everybody
        togo = np.maximum(stops[nstop] - x - v * dt, 0)
        top = np.minimum(p["fastest"], np.sqrt(2 * p["brake"] * togo))
        legs = np.clip(m * (top - v) / dt + res, 0, legs)
        room = np.maximum(m * (np.minimum(p["cut"], top) - v) / dt + res - legs, 0)
        torque = np.minimum(torque, room / lever)
        torque = np.where(going, torque, 0)
        on = torque > 0
        im = np.where(on, (torque / p["N"] / p["eta_g"] + friction) / kt, 0)
        term = (im * rw + emf) * im / p["eta_c"]
        ib = np.where(on, (u0 - np.sqrt(u0 * u0 - 4 * rp * term)) / (2 * rp), 0)
        push = legs + torque * lever
        brake = np.maximum(push - res - m * (top - v) / dt, 0)
        a = (push - res - brake) / m
        # books
        step = np.where(riding, dt, 0)
        t += step
        go = np.where(going, dt, 0)
        joule += term * go
        soc -= ib * go / (p["np_"] * p["ah"] * 3600)
        low = np.where(going, np.minimum(low, u0 - rp * ib), low)
        copper = im * im * rw
        rest = np.where(on, (im * rw + emf) * im - copper - torque * mturn, 0)
        flow = (tw - tc) / p["rwc"]
        tw = tw + (copper - flow) / cw * step
        tc = tc + (rest + flow - (tc - p["air"]) / p["rca"]) / cc * step
        hot = np.maximum(hot, tw)
        vn = np.maximum(v + a * go, 0)
        dx = 0.5 * (v + vn) * go
        braked += brake * dx
        x = x + dx
        v = vn
        # arrived at a stop
        wait = np.maximum(wait - dt, 0) * standing
        there = going & (stops[nstop] - x < 0.01) & (v < 0.3)
        x = np.where(there, stops[nstop], x)
        braked += np.where(there, 0.5 * m * v * v, 0)
        t += np.where(there, v / p["brake"], 0)
        v = np.where(there, 0, v)
        t += np.where(there & (x >= end - 1e-9), 15.0, 0)
        wait = np.where(there & (x < end - 1e-9), 15.0, wait)
        nstop = nstop + there
    return t, joule / 3600, low, hot, soc, braked / 3600


def main():
    if sys.argv[1:] == ["speed"]:
        base = dict(BASE, np_=12)
        for n, dt in ((1, 0.25), (1000, 0.25)):
            # One ride: the bicycle as it is. Many: the benchmark's walk through mass, drag and rolling.
            u = np.zeros((1, 3)) if n == 1 else (np.arange(n)[:, None] * np.array([0.75487767, 0.56984029, 0.61803399])) % 1 - 0.5
            rides = [dict(base, mass=115 * (1 + 0.1 * a), cda=0.5544 + 0.55 * 0.4 * b, crr=0.007 * (1 + 0.5 * c)) for a, b, c in u]
            begin = time.perf_counter()
            wh = ride(rides, 100, 0.0, dt)[1]
            print("%d rides of 100 km at %.2f s: %.1f s, mean %.2f Wh" % (n, dt, time.perf_counter() - begin, wh.mean()))
        return
    print("name,wind,time_s,energy_Wh,lowest_V,hottest_C,charge_left,brakes_Wh")
    for wind in (0.0, 2.0):
        rides = [dict(BASE, **c) for c in CASES.values()]
        for name, *row in zip(CASES, *ride(rides, 20, wind, 0.01)):
            print("%s,%g,%.2f,%.4f,%.4f,%.3f,%.6f,%.4f" % (name, wind, *row))


main()
