"""Shapes that the handbook estimates start from: lifting surfaces and a fuselage.

A surface is a straight-tapered trapezoid; a fin is one half of such a surface stood on its root.
"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Planform:
    """A straight-tapered lifting surface.

    Args:
        area: m2, both halves (one for a fin).
        span: Tip to tip, m (root to tip for a fin).
        taper: Tip chord over root chord.
        sweep: Of the quarter-chord line, rad, aft positive.
        chord_station: Station of the leading edge of the mean aerodynamic chord, m.
        depth: Below the datum line, m.
        section_slope_ratio: Section lift slope over 2 pi (kappa).
        known_mean_chord: Mean aerodynamic chord where a document states it, m; 0 = that of the
            trapezoid.
    """

    area: float
    span: float
    taper: float
    sweep: float = 0.0
    chord_station: float = 0.0
    depth: float = 0.0
    section_slope_ratio: float = 0.95
    known_mean_chord: float = 0.0

    @property
    def aspect_ratio(self) -> float:
        """Span squared over area."""
        return self.span**2 / self.area

    @property
    def root_chord(self) -> float:
        """m."""
        return 2.0 * self.area / (self.span * (1.0 + self.taper))

    @property
    def mean_chord(self) -> float:
        """Mean aerodynamic chord, m.

        Source: c = (2/3) c_r (1 + t + t^2) / (1 + t), the integral of chord squared over area
            for a straight taper t.
        """
        t = self.taper
        return self.known_mean_chord or 2.0 / 3.0 * self.root_chord * (1.0 + t + t**2) / (1.0 + t)

    @property
    def aerodynamic_station(self) -> float:
        """Station of the aerodynamic center, m: the quarter of the mean chord, subsonic.

        Source: thin-airfoil theory.
        """
        return self.chord_station + 0.25 * self.mean_chord

    def tangent_of_sweep(self, fraction: float) -> float:
        """Tangent of the sweep of the line at a fraction of the chord.

        Args:
            fraction: 0 at the leading edge, 1 at the trailing edge.

        Returns:
            Tangent of the sweep angle.

        Source: tan L_n = tan L_1/4 - (4/A)(n - 1/4)(1 - t)/(1 + t), geometry of a trapezoid.
        """
        bend = (1.0 - self.taper) / (1.0 + self.taper)
        return math.tan(self.sweep) - 4.0 / self.aspect_ratio * (fraction - 0.25) * bend


@dataclass(frozen=True, kw_only=True)
class Fuselage:
    """The body.

    Args:
        length: m.
        width: Greatest, m.
        height: Greatest, m.
        nose_station: Station of the nose, m.
    """

    length: float
    width: float
    height: float
    nose_station: float = 0.0

    @property
    def volume(self) -> float:
        """m3.

        Source: analyst's: 0.7 of the enclosing cylinder of elliptic section, between a
            spindle of parabolic outline (0.53) and a cylinder (1).
        """
        return 0.7 * math.pi / 4.0 * self.width * self.height * self.length


@dataclass(frozen=True, kw_only=True)
class Shape:
    """Everything geometric that the estimates need.

    Args:
        wing: Wing.
        tail: Horizontal tail.
        fin: Vertical tail (one half surface; span is its height).
        fuselage: Body.
        wing_incidence: Root chord above the datum line, rad.
        zero_lift_angle: Of the wing section, from its chord, rad (negative with camber).
        section_moment: Moment coefficient of wing and body about the aerodynamic center.
        dihedral: rad.
        elevator_chord_ratio: Elevator chord aft of the hinge over tail chord.
        rudder_chord_ratio: The same for the rudder.
        aileron_chord_ratio: The same for the aileron.
        aileron_inner: Inner end, fraction of the half span.
        aileron_outer: Outer end, fraction of the half span.
        tail_pressure_ratio: Dynamic pressure at the tail over free stream.
    """

    wing: Planform
    tail: Planform
    fin: Planform
    fuselage: Fuselage
    wing_incidence: float
    zero_lift_angle: float
    section_moment: float
    dihedral: float
    elevator_chord_ratio: float
    rudder_chord_ratio: float
    aileron_chord_ratio: float
    aileron_inner: float
    aileron_outer: float
    tail_pressure_ratio: float = 0.95

    @property
    def tail_arm(self) -> float:
        """Aerodynamic centre of the tail behind that of the wing, m."""
        return self.tail.aerodynamic_station - self.wing.aerodynamic_station

    @property
    def fin_arm(self) -> float:
        """Aerodynamic centre of the fin behind that of the wing, m."""
        return self.fin.aerodynamic_station - self.wing.aerodynamic_station

    @property
    def tail_area_ratio(self) -> float:
        """Tail area over wing area."""
        return self.tail.area / self.wing.area

    @property
    def fin_area_ratio(self) -> float:
        """Fin area over wing area."""
        return self.fin.area / self.wing.area

    @property
    def tail_volume(self) -> float:
        """V_H = S_t l_t / (S c).

        Source: Etkin and Reid (1996), eq. 2.2,10, arm from the wing's aerodynamic center.
        """
        return self.tail_area_ratio * self.tail_arm / self.wing.mean_chord
