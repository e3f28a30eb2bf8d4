"""Modes of published airplanes from the NONLINEAR model, linearised by automatic differentiation.

Each set of dimensional derivatives is turned back into coefficients by the definitions of Etkin and
Reid (1996), tables 4.4 and 4.5; the airplane is trimmed level at the condition and linearised. The
published matrix is never copied, except to compare with.

Sources: four-engine transport: H. Smith, Aircraft Flight Mechanics, "StateSpaceExample" (reproduces
Schmidt 1998, appendix B.4). Heavy transport: Etkin and Reid, pages 165 to 187. Single-engine light
airplane: Nelson, Flight Stability and Automatic Control, appendix B, with the dimensional values of
E. B. Jackson's public parameter file.
"""

import dataclasses
from types import SimpleNamespace

import control
import jax
import numpy as np
import pytest

from neutralpoint.airplane import model
from neutralpoint.dynamics.air import gas, make_air, speed_of_sound
from neutralpoint.dynamics.equilibrium import Condition, find_equilibrium
from neutralpoint.dynamics.modes import frequency_and_damping, identify_modes, linearize
from neutralpoint.quantities import FOOT, POUND, SLUG_FOOT_SQUARED

TRANSPORT_GRAVITY = 32.17 * FOOT  # as the source has it


def body(name, *, S, c, b, mass, inertia, V, density, gravity):
    Ixx, Iyy, Izz, Ixz = inertia
    return SimpleNamespace(
        name=name,
        S=S,
        c=c,
        b=b,
        mass=mass,
        Ixx=Ixx,
        Iyy=Iyy,
        Izz=Izz,
        Ixz=Ixz,
        V=V,
        density=density,
        gravity=gravity,
    )


def longitudinal(x, d):
    """Coefficients from derivatives per mass and per inertia; d has Xu..Mwdot in SI."""
    q = 0.5 * x.density * x.V**2
    force = q * x.S / (x.mass * x.V)
    moment = q * x.S * x.c / x.Iyy
    time = x.c / (2.0 * x.V)
    mach = x.V / float(speed_of_sound(make_air().temperature))
    CL = x.mass * x.gravity / (q * x.S)
    CD = 0.03  # its level only sets the thrust: CL_alpha and CD_mach take up the difference
    CL_alpha = -d["Zw"] / force - CD
    CD_lift = (CL - d["Xw"] / force) / (2.0 * CL * CL_alpha)
    CL_mach = (-d["Zu"] / force - 2.0 * CL) / mach
    CD_mach = (-d["Xu"] / force - 2.0 * CD) / mach - 2.0 * CD_lift * CL * CL_mach
    return model.LongitudinalAerodynamics(
        CL_0=CL,
        CL_alpha=CL_alpha,
        CL_q=-d.get("Zq", 0.0) / (force * x.V * time),
        CL_alphadot=-d.get("Zwdot", 0.0) / (force * time),
        CL_elevator=0.3,
        CL_mach=CL_mach,
        CD_0=CD - CD_lift * CL**2,
        CD_lift=CD_lift,
        CD_mach=CD_mach,  # the polar carries the drag of the lift that comes with speed
        Cm_0=0.0,
        Cm_alpha=d["Mw"] * x.V / moment,
        Cm_q=d["Mq"] / (moment * time),
        Cm_alphadot=d["Mwdot"] * x.V / (moment * time),
        Cm_elevator=-1.0,
        Cm_mach=d["Mu"] * x.V / (moment * mach),
        mach=mach,
    )


def lateral(x, d):
    """Coefficients from Yv, Lbeta.. per own mass and inertia, unstarred, SI."""
    q = 0.5 * x.density * x.V**2
    time = x.b / (2.0 * x.V)
    roll, yaw = q * x.S * x.b / x.Ixx, q * x.S * x.b / x.Izz
    return model.LateralAerodynamics(
        CY_beta=d["Yv"] * x.mass * x.V / (q * x.S),
        Cl_beta=d["Lbeta"] / roll,
        Cl_p=d["Lp"] / (roll * time),
        Cl_r=d["Lr"] / (roll * time),
        Cn_beta=d["Nbeta"] / yaw,
        Cn_p=d["Np"] / (yaw * time),
        Cn_r=d["Nr"] / (yaw * time),
    )


def rebuild(x, lon, lat):
    return model.Airplane(
        name="derivative set",
        geometry=model.Geometry(wing_area=x.S, mean_chord=x.c, span=x.b),
        mass=model.MassProperties(
            mass=x.mass,
            roll_inertia=x.Ixx,
            pitch_inertia=x.Iyy,
            yaw_inertia=x.Izz,
            cross_inertia=x.Ixz,
        ),
        longitudinal=longitudinal(x, lon),
        lateral=lateral(x, lat),
        engines=(model.Engine(kind="turbofan", rating=x.mass * x.gravity, altitude_exponent=0.0),),
        pitch_control=model.PitchControl(),
        trim_drive=model.TrimDrive(kind="none"),
    )


@jax.jit
def trim_and_linearize(airplane, air, speed):
    found = find_equilibrium(airplane, air, Condition(speed=speed, height=0.0))
    return found, linearize(airplane, found.state, found.inputs, air)[0]


def linear_model(x, lon, lat):
    """Trimmed and linearised at the condition, with its density and gravity at height 0."""
    standard = make_air()
    ratio = x.density / float(gas(standard, 0.0)[0])
    air = dataclasses.replace(standard, pressure=standard.pressure * ratio, gravity=x.gravity)
    found, A = trim_and_linearize(rebuild(x, lon, lat), air, x.V)
    assert int(found.outcome) == 0
    assert abs(float(found.readings.angle_of_attack)) < 1e-9  # rebuilt to fly at zero incidence
    return np.asarray(A)


# ------------------------------------- transport, Schmidt (1998) appendix B.4, conditions 1 to 3
S, C, B = 2600 * FOOT**2, 23 * FOOT, 142.3 * FOOT
TRANSPORT = {
    1: {
        "V": 243,
        "q": 70.4,
        "W": 190e3,
        "I": (3.09e6, 2.94e6, 5.58e6, 28e3),
        "X": (-0.0291, 15.32),
        "Z": (-0.251, -152.8),
        "M": (0.0, -2.118, -0.26, -0.792),
        "Y": -27.05,
        "L": (-1.327, -0.950, 0.609),
        "N": (0.756, -0.124, -0.264),
        "short": (1.6188, 0.5220),
        "phugoid": (0.1639, 0.0604),
        "dutch": (0.9956, 0.1093),
        "roll": -1.1209,
        "spiral": 0.01312,
    },
    2: {
        "V": 468,
        "q": 164,
        "W": 190e3,
        "I": (3.11e6, 2.94e6, 5.88e6, -64.5e3),
        "X": (-0.0071, 15.03),
        "Z": (-0.133, -354),
        "M": (0.0, -5.01, -0.337, -0.991),
        "Y": -47.19,
        "L": (-2.711, -1.233, 0.397),
        "N": (1.302, -0.035, -0.257),
        "short": (2.3998, 0.4346),
        "phugoid": (0.0892, 0.0308),
        "dutch": (1.1978, 0.1061),
        "roll": -1.3302,
        "spiral": -0.00648,
    },
    3: {
        "V": 825,
        "q": 271,
        "W": 230e3,
        "I": (3.77e6, 3.56e6, 7.13e6, 45e3),
        "X": (-0.014, 3.544),
        "Z": (-0.074, -664.3),
        "M": (-0.0008, -9.149, -0.42, -0.924),
        "Y": -71.73,
        "L": (-4.424, -1.184, 0.335),
        "N": (2.148, -0.021, -0.228),
        "short": (3.1461, 0.3419),
        "phugoid": (0.0239, 0.2444),
        "dutch": (1.4979, 0.0791),
        "roll": -1.2580,
        "spiral": -0.00399,
    },
}


def transport_model(k):
    d = TRANSPORT[k]
    V = d["V"] * FOOT
    pressure = d["q"] * POUND * 9.80665 / FOOT**2
    x = body(
        "transport, Schmidt B.4",
        S=S,
        c=C,
        b=B,
        mass=d["W"] * POUND,
        inertia=[i * SLUG_FOOT_SQUARED for i in d["I"]],
        V=V,
        density=2 * pressure / V**2,
        gravity=TRANSPORT_GRAVITY,
    )
    (Xu, Xa), (Zu, Za), (Mu, Ma, Mad, Mq) = d["X"], d["Z"], d["M"]
    lon = {
        "Xu": Xu,
        "Xw": Xa / d["V"],
        "Zu": Zu,
        "Zw": Za / d["V"],
        "Mu": Mu / FOOT,
        "Mw": Ma / V,
        "Mwdot": Mad / V,
        "Mq": Mq,
    }
    # Starred derivatives carry the cross inertia: L* = (L + Ixz/Ixx N) / (1 - Ixz^2/Ixx/Izz).
    pairs = zip(d["L"], d["N"], strict=True)
    L, N = zip(*((p - x.Ixz / x.Ixx * n, n - x.Ixz / x.Izz * p) for p, n in pairs), strict=True)
    lat = dict(zip(("Lbeta", "Lp", "Lr", "Nbeta", "Np", "Nr"), (*L, *N), strict=True))
    return linear_model(x, lon, lat | {"Yv": d["Y"] / d["V"]})


@pytest.mark.parametrize("condition", [1, 2, 3])
def test_transport(condition):
    """Tolerances of the source's own rounding: 0.5 % and, for the slow modes, 2 %.

    Source: H. Smith, Aircraft Flight Mechanics, "StateSpaceExample".
    """
    want = TRANSPORT[condition]
    modes = identify_modes(transport_model(condition))
    assert frequency_and_damping(modes.short_period) == pytest.approx(want["short"], rel=0.005)
    assert frequency_and_damping(modes.phugoid) == pytest.approx(want["phugoid"], rel=0.02)
    assert frequency_and_damping(modes.dutch_roll) == pytest.approx(want["dutch"], rel=0.005)
    assert modes.roll.real == pytest.approx(want["roll"], rel=0.005)
    assert modes.spiral.real == pytest.approx(want["spiral"], rel=0.02)


# ------------------------------------------- heavy transport, Etkin and Reid, pages 165 to 187
def heavy_model():
    mass = 2.83176e6 / 9.81
    x = body(
        "heavy transport, Etkin and Reid",
        S=511.0,
        c=8.324,
        b=59.64,
        mass=mass,
        inertia=(0.247e8, 0.449e8, 0.673e8, -0.212e7),
        V=235.9,
        density=0.3045,
        gravity=9.81,
    )
    force = {"Xu": -1.982e3, "Xw": 4.025e3, "Zu": -2.595e4, "Zw": -9.030e4}
    force |= {"Zq": -4.524e5, "Zwdot": 1.909e3, "Yv": -1.610e4}
    pitch = {"Mu": 1.593e4, "Mw": -1.563e5, "Mq": -1.521e7, "Mwdot": -1.702e4}
    lon = {k: v / mass for k, v in force.items()} | {k: v / x.Iyy for k, v in pitch.items()}
    roll = {"Lbeta": -3.062e5 * x.V, "Lp": -1.076e7, "Lr": 9.925e6}
    yaw = {"Nbeta": 2.131e5 * x.V, "Np": -1.330e6, "Nr": -8.934e6}
    lat = {k: v / x.Ixx for k, v in roll.items()} | {k: v / x.Izz for k, v in yaw.items()}
    return linear_model(x, lon, lat | {"Yv": lon["Yv"]})


def test_heavy_transport_modes():
    """Roots printed by Etkin and Reid (examples 6.2 and 6.6) and found in the course scripts.

    Source: Etkin and Reid (1996), examples 6.2 and 6.6.
    """
    modes = identify_modes(heavy_model())
    assert max(modes.short_period, key=lambda s: s.imag) == pytest.approx(
        -0.37168 + 0.88692j, rel=0.001
    )
    assert max(modes.phugoid, key=lambda s: s.imag) == pytest.approx(
        -0.0032889 + 0.067202j, rel=0.001
    )
    assert max(modes.dutch_roll, key=lambda s: s.imag) == pytest.approx(
        -0.03308 + 0.94698j, rel=0.003
    )
    assert modes.roll.real == pytest.approx(-0.56326, rel=0.005)
    assert modes.spiral.real == pytest.approx(-0.007261, rel=0.005)


def test_heavy_transport_matrix_and_its_poles_by_an_outside_library():
    """The printed matrix in (u, w, q, theta), and python-control's poles of ours.

    Source: Etkin and Reid (1996), ch. 6; poles by python-control.
    """
    V = 235.9
    printed = np.array(
        [
            [-0.006866, 0.01394, 0.0, -9.81],
            [-0.09050, -0.3149, 235.89, 0.0],
            [3.891e-4, -3.362e-3, -0.42817, 0.0],
            [0.0, 0.0, 1.0, 0.0],
        ]
    )
    A = heavy_model()
    change = np.diag([1.0, V, 1.0, 1.0])  # w = V alpha at zero incidence
    ours = change @ A[:4, :4] @ np.linalg.inv(change)
    scale = np.abs(printed).max(axis=1, keepdims=True)
    assert np.max(np.abs(ours - printed) / scale) < 1e-3  # four printed digits
    system = control.ss(A[:4, :4], np.zeros((4, 1)), np.eye(4), 0)
    wn, zeta, _ = control.damp(system, doprint=False)
    modes = identify_modes(A)
    pairs = [frequency_and_damping(modes.short_period), frequency_and_damping(modes.phugoid)]
    theirs = sorted(zip(wn[::2], zeta[::2], strict=True), reverse=True)
    assert np.allclose(pairs, theirs, rtol=1e-9)


# ------------------------------------------------- light airplane, Nelson (1998) appendix B
def test_light_airplane():
    """Source: Nelson, Flight Stability and Automatic Control, app. B and its examples."""
    x = body(
        "light airplane, Nelson app. B",
        S=184 * FOOT**2,
        c=5.7 * FOOT,
        b=33.4 * FOOT,
        mass=2750 * POUND,
        inertia=[i * SLUG_FOOT_SQUARED for i in (1048, 3000, 3530, 0)],
        V=176 * FOOT,
        density=1.225,
        gravity=32.174 * FOOT,
    )
    lon = {
        "Xu": -0.0451,
        "Xw": 0.03607,
        "Zu": -0.3697,
        "Zw": -2.0244,
        "Mu": 0.0,
        "Mw": -0.05 / FOOT,
        "Mwdot": -0.0051 / FOOT,
        "Mq": -2.0767,
    }
    lat = {
        "Yv": -0.2543,
        "Lbeta": -15.982,
        "Lp": -8.402,
        "Lr": 2.193,
        "Nbeta": 4.495,
        "Np": -0.3498,
        "Nr": -0.7605,
    }
    modes = identify_modes(linear_model(x, lon, lat))
    upper = [max(pair, key=lambda s: s.imag) for pair in (modes.short_period, modes.phugoid)]
    assert upper[0] == pytest.approx(-2.505 + 2.598j, rel=0.005)
    assert upper[1] == pytest.approx(-0.01712 + 0.2131j, rel=0.005)
    dutch = max(modes.dutch_roll, key=lambda s: s.imag)
    assert dutch == pytest.approx(-0.4868 + 2.3349j, rel=0.001)
    assert modes.roll.real == pytest.approx(-8.4345, rel=0.001)
    assert modes.spiral.real == pytest.approx(-0.008758, rel=0.005)
