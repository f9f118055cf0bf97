#!/usr/bin/python3
"""The pond's equations by a general integrator, beside the program's own step.

One made case, six days of an open pond: heat by sun, longwave, convection and
evaporation, water lost to the air, light, growth, damage and the night share.
Walls, ground, chemistry and nutrients are left out, in the Go test as here
(science/pond, TestReferenceIntegrator). The equations are typed anew from their
sources; nothing is shared with the Go code but the numbers of the case.

Needs Debian's python3-scipy; run it from the repository with

    /usr/bin/python3 scripts/reference_integrator.py

It prints the rows that the Go test holds, and evaluations, time and error of
LSODA at several tolerances beside those of the ten-minute step. With --peer it
leaves the rows out: so it stands at the end of make bench. Times are the least
of several runs; the right-hand side is Python here and Go there, so the ratio
says what the two ways cost a program, not which method is the better.
"""

import re
import subprocess
import sys
import time

import numpy as np
from scipy.integrate import solve_ivp
from scipy.special import exp1

SIGMA_SB, CP = 5.670374419e-8, 4182.0
N = 1.34                       # refractive index of water
AREA, WATER, ACTIVITY = 10.0, 1500.0, 0.9930  # the activity that the case's salts leave
EMITTANCE, BACKSCATTER = 0.96, 0.02
IK, Y, SIGMA, TMIN, TOPT, TMAX = 195.0, 1.23, 0.116, 6.0, 34.0, 46.5
M30, PHI, RHO, KD, KR, XC, KQ, KW = 0.031, 0.13, 1.8, 55.0, 8.6, 6.2, 4.8, 0.3
DAYS = 6
STEPS = DAYS * 144             # of ten minutes, one evaluation each
RUNS = 5


def litres(c):
    """Volume of the case's medium per kilogram of water, near 22 C [L/kg]."""
    return 1.00405 + (c - 22) * (2.2e-4 + 4.6e-6 * (c - 22))


def weather(t):
    """Sun, air, vapour, wind, longwave at t seconds, the case's own."""
    h = t / 3600.0
    wave = np.cos((h - 15) * np.pi / 12)
    cos = max(0.0, 0.25 + 0.7 * np.cos((h - 12) * np.pi / 12))
    bright = 0.75 + 0.25 * np.sin(0.9 * h / 24)
    beam, diffuse = 800 * bright * cos**1.15, 110 * np.sqrt(cos)
    return cos, beam, diffuse, 24 + 7 * wave, 1.4, 1.5 + 0.8 * wave, 97.0, 340 + 20 * wave


def saturation(c):
    """Wagner & Pruss 1993, eq. 1 [kPa]."""
    t = c + 273.15
    x = 1 - t / 647.096
    a = (-7.85951783, 1.84408259, -11.7866497, 22.6807411, -15.9618719, 1.80122502)
    p = (1, 1.5, 3, 3.5, 4, 7.5)
    return 22064 * np.exp(647.096 / t * sum(k * x**q for k, q in zip(a, p)))


def fresnel(cos):
    """Reflectance and the cosine below."""
    below = np.sqrt(1 - (1 - cos * cos) / N**2)
    if cos <= 0:
        return 1.0, below
    s = (cos - N * below) / (cos + N * below)
    p = (N * cos - below) / (N * cos + below)
    return (s * s + p * p) / 2, below


def transfer(air, wind, kpa, length, water, vapour_water, vapour_air, latent):
    """Coefficients of heat [W/m2/K] and vapour [W/m2/kPa]: Bechet et al. 2011
    forced, Incropera's cube root free, joined by squares (Adams et al. 1990)."""
    dense = kpa / 101.325
    k = 0.0243 + 0.000074 * air
    re = max(wind, 0.1) * length * dense / (13.3e-6 + 0.095e-6 * air)
    laminar, turbulent = 0.628 * re**0.5, 0.035 * re**0.8
    share = min(max((re - 3e5) / 2e5, 0), 1)
    forced = (laminar + share * (turbulent - laminar)) * 0.892 * k / length
    free = (11.54 + air * (-0.0186 + 0.0001 * air)) * (1 + 5 * dense) / (5 + dense)
    buoy = 0.378 / kpa
    lift = (water + 273.15) * (1 + buoy * vapour_water) / ((air + 273.15) * (1 + buoy * vapour_air)) - 1
    root = np.cbrt(lift) if lift > 1e-3 else max(lift, 0) * 100
    h = np.hypot(forced, free * root)
    return h, h * 1.09 * 0.622 / 1006 * latent / kpa


def warmth(c):
    """Cardinal temperatures with inflection, Rosso et al. 1993."""
    if c <= TMIN or c >= TMAX:
        return 0.02
    top = (c - TMAX) * (c - TMIN) ** 2
    low = (TOPT - TMIN) * ((TOPT - TMIN) * (c - TOPT) - (TOPT - TMAX) * (TOPT + TMIN - 2 * c))
    return max(top / low, 0.02)


def ein(x):
    return np.euler_gamma + np.log(x) + exp1(x) if x > 1e-6 else x


evaluations = 0


def rates(t, y):
    global evaluations
    evaluations += 1
    temp, water, grams, damage, night = y
    cos, beam, diffuse, air, vapour, wind, kpa, longwave = weather(t)
    latent = 2.501e6 - 2361 * temp
    at_water = ACTIVITY * saturation(temp)
    h, wet = transfer(air, wind, kpa, np.sqrt(AREA), temp, at_water, vapour, latent)
    reflected, cos_below = fresnel(cos)
    sun = (1 - BACKSCATTER) * (beam * (1 - reflected) + diffuse * (1 - 0.0675))
    sky = EMITTANCE * (longwave - SIGMA_SB * (temp + 273.15) ** 4)
    evaporated = wet * (at_water - vapour)  # W/m2
    d_temp = (sun + sky + h * (air - temp) - evaporated) * AREA / (water * CP)
    d_water = -evaporated * AREA / latent

    depth = water * litres(temp) / 1000 / AREA
    gl = grams / (water * litres(temp))
    g = warmth(temp)
    under_beam, under_diffuse = 2.06 * beam * (1 - reflected), 2.06 * diffuse * (1 - 0.0675)
    under = under_beam + under_diffuse
    gross = hurt = 0.0
    dark = np.exp(-under / 10)
    if under > 0:
        tau = (KW + 1000 * SIGMA * gl) * depth * under / (under_beam * cos_below + under_diffuse * 0.84)
        x0 = under / (IK * g)
        floor = x0 * np.exp(-tau)
        share = (ein(x0) - ein(floor)) / tau
        if x0 > XC:
            low = max(floor, XC)
            hurt = KD * (x0 - low - XC * np.log(x0 / low)) / tau
        gross = 0.0864 * Y * IK * SIGMA * g * (1 - damage) * share
    upkeep = M30 * 1.4 ** ((temp - 30) / 10)
    burn = KQ * dark
    net = gross - upkeep - burn * night
    part = PHI * RHO ** min(1, max(0, (35 - temp) / 10))
    d_damage = hurt * (1 - damage) - KR * g * damage
    d_night = part * gross - night * (burn + max(0, net))
    return [d_temp, d_water, net * grams / 86400, d_damage / 86400, d_night / 86400]


def run(rtol, atol, at=None):
    global evaluations
    evaluations = 0
    start = [22.0, WATER, 0.45 * WATER * litres(22.0), 0.0, 0.0]
    begun = time.process_time()
    s = solve_ivp(rates, (0, DAYS * 86400), start, method="LSODA", rtol=rtol, atol=atol, max_step=3600, t_eval=at)
    if not s.success:
        sys.exit(s.message)
    return s, evaluations, time.process_time() - begun


def main():
    hours = np.arange(6, DAYS * 24 + 1, 6) * 3600.0
    scale = np.array([1e-2, 1e-1, 1e-1, 1e-3, 1e-4])
    best, n, _ = run(1e-11, 1e-9 * scale, hours)
    gl = best.y[2] / (best.y[1] * litres(best.y[0]))
    if "--peer" not in sys.argv:
        print(f"reference: LSODA at 1e-11, {n} evaluations\n\nrows for the Go test: hour, density g/L, water C, water kg, damage")
        for i, t in enumerate(hours):
            print(f"\t\t{{{t / 3600:.0f}, {gl[i]:.6f}, {best.y[0][i]:.4f}, {best.y[1][i]:.3f}, {best.y[3][i]:.5f}}},")
        print()
    print(f"{DAYS} days of one pond, LSODA of SciPy with a right-hand side in Python:")
    peers = []
    for rtol in (1e-3, 1e-4, 1e-5, 1e-6):
        runs = [run(rtol, rtol * scale * 10, hours) for _ in range(RUNS)]
        s, n, _ = runs[0]
        seconds = min(r[2] for r in runs)
        x = s.y[2] / (s.y[1] * litres(s.y[0]))
        peers.append((rtol, seconds))
        print(f"  rtol {rtol:.0e}: {n:6d} evaluations, {seconds * 1e3:7.1f} ms, density off {100 * np.max(np.abs(x / gl - 1)):.4f} %, water off {np.max(np.abs(s.y[0] - best.y[0])):.4f} C")
    go = subprocess.run(
        ["go", "test", "./science/pond", "-run", "TestReferenceIntegrator", "-bench", "ReferenceCase", "-benchtime", "100x", "-count", str(RUNS), "-v"],
        capture_output=True, text=True,
    )
    print("the same days by the program's step (Go, the chemistry that the case does not ask for included):")
    for line in dict.fromkeys(x.strip() for x in go.stdout.splitlines()):
        if re.search(r"reference_test.go|^FAIL", line):
            print("  " + line)
    nanos = [float(x) for x in re.findall(r"^BenchmarkReferenceCase\S*\s+\d+\s+([\d.]+) ns/op", go.stdout, re.M)]
    if go.returncode or not nanos:
        sys.exit(go.stdout + go.stderr)
    ms = min(nanos) / 1e6
    print(f"  {STEPS} evaluations, {ms:.2f} ms; LSODA takes " + ", ".join(f"{1e3 * x / ms:.0f} times that at {r:.0e}" for r, x in peers))


if __name__ == "__main__":
    main()
