"""Contacts on a cam ground with flats: gap, dwell and opening angle, each from the others.

The cam has ``lobes`` flats at distance R_f from the axis and lobes of radius R_l; the heel is a
point follower and moves the contacts λ times its own lift. With β the angle from the middle of a
flat, the flat's radius is R_f / cos β. The contacts part where the heel's radius reaches R_c:

    gap = λ (R_l − R_c),        dwell = 2 acos(R_f / R_c)

so dwell falls as the gap grows. Contact float at high speed is not modelled.

Angles are distributor degrees, speeds distributor rev/min. Source: plane geometry of a straight
flat; the usual dwell figures in the tests are common practice.
"""

from __future__ import annotations

from math import cos, pi, radians

import numpy as np
from numpy.typing import ArrayLike

from bobweight.core.bench._checks import Values, finite, plain, positive, whole, within
from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError, Problem, required

THOU_MM = 0.0254
_MOST_LOBES = 12


@frozen
class ContactCam:
    """The cam as the heel sees it.

    Parameters
    ----------
    lobes : int
        1 to 12.
    flat_mm : float
        Distance of a flat from the axis, above 0 (half the size across flats).
    lobe_mm : float
        Radius at the lobes, above ``flat_mm``.
    lever_ratio : float
        Movement of the contacts over lift of the heel, above 0.
    """

    lobes: int
    flat_mm: float
    lobe_mm: float
    lever_ratio: float = 1.0

    def __post_init__(self) -> None:
        whole("lobes", self.lobes, 1, _MOST_LOBES)
        positive("flat_mm", self.flat_mm, "mm")
        positive("lever_ratio", self.lever_ratio, "")
        finite("lobe_mm", self.lobe_mm)
        if self.lobe_mm <= self.flat_mm:
            raise BobweightError(
                "lobe-not-above-flat", ("lobe_mm",), lobe_mm=self.lobe_mm, flat_mm=self.flat_mm
            )

    @property
    def sector_deg(self) -> float:
        """Distributor degrees from one spark to the next, 360 / lobes."""
        return 360.0 / self.lobes

    @property
    def widest_gap_mm(self) -> float:
        """The gap at which the contacts no longer close, mm; every usable gap is below it."""
        return self.lever_ratio * (self.lobe_mm - self.flat_mm)

    @property
    def corner_mm(self) -> float:
        """Radius at which two neighbouring flats meet, mm; infinite for one or two lobes."""
        return self.flat_mm / cos(pi / self.lobes) if self.lobes > 2 else np.inf

    @property
    def longest_dwell_deg(self) -> float:
        """Dwell that no gap above zero reaches, distributor degrees."""
        longest = 2 * np.degrees(np.arccos(self.flat_mm / self.lobe_mm))
        return float(min(longest, self.sector_deg))


@frozen
class ContactSetting:
    """One setting of the contacts, said in every way it is measured.

    ``gap_mm``; ``dwell_deg`` closed and ``open_deg`` open, distributor degrees, together one
    sector; ``dwell_percent`` of the sector; ``parting_deg`` from the middle of the flat, where the
    contacts part. Floats or arrays of one shape.
    """

    gap_mm: Values
    dwell_deg: Values
    open_deg: Values
    dwell_percent: Values
    parting_deg: Values


@frozen
class TimingShift:
    """How the spark moves as the gap is opened; positive is advance.

    Crank degrees per mm of gap and per thou (0.001 in), and the change of dwell in distributor
    degrees per mm (negative).
    """

    crank_deg_per_mm: Values
    crank_deg_per_thou: Values
    dwell_deg_per_mm: Values


def calibrated(
    lobes: int,
    gap_mm: float,
    dwell_deg: float,
    *,
    flat_mm: float | None = None,
    lobe_mm: float | None = None,
    lever_ratio: float | None = None,
) -> ContactCam:
    """The cam that shows one known pair of gap and dwell, with the missing size solved for.

    Exactly two of the three sizes are given. With the flat known the pair fixes the parting radius
    R_c = R_f / cos(dwell / 2), and everything else follows.

    Parameters
    ----------
    lobes : int
        1 to 12.
    gap_mm : float
        Measured gap, above 0.
    dwell_deg : float
        Measured dwell at that gap, distributor degrees, between 0 and the sector (at most 180).
    flat_mm, lobe_mm : float, optional
        Radii at flat and lobe.
    lever_ratio : float, optional
        Movement of the contacts over lift of the heel.

    Raises
    ------
    BobweightError
        ``pair-not-possible`` with the lift left, where the parting radius is not below the lobe;
        ``dwell-out-of-sector``.
    """
    whole("lobes", lobes, 1, _MOST_LOBES)
    positive("gap_mm", gap_mm, "mm")
    _inside_sector(dwell_deg, lobes)
    for name, size in (("flat_mm", flat_mm), ("lobe_mm", lobe_mm), ("lever_ratio", lever_ratio)):
        if size is not None:
            positive(name, size)
    half = cos(radians(dwell_deg) / 2)
    if lobe_mm is None:
        lobe_mm = required(flat_mm) / half + gap_mm / required(lever_ratio)
    else:
        lift = lobe_mm - (gap_mm / required(lever_ratio) if flat_mm is None else flat_mm / half)
        if lift <= 0:
            raise BobweightError(
                "pair-not-possible", (), gap_mm=gap_mm, dwell_deg=dwell_deg, lift_mm=lift
            )
        if flat_mm is None:
            flat_mm = lift * half
        else:
            lever_ratio = gap_mm / lift
    return ContactCam(lobes, required(flat_mm), required(lobe_mm), required(lever_ratio))


def advice(cam: ContactCam) -> tuple[Problem, ...]:
    """What is odd about a cam, as advice: ``lobe-beyond-corner`` where straight flats that far
    from the axis would meet before the lobe's radius, so the sizes or the gap are to be measured
    again (or the flanks are hollow-ground, and the model holds near the known pair only)."""
    if cam.lobe_mm <= cam.corner_mm:
        return ()
    facts = {"lobe_mm": cam.lobe_mm, "corner_mm": cam.corner_mm, "lobes": cam.lobes}
    return (Problem("lobe-beyond-corner", ("lobe_mm",), facts, grave=False),)


def at_gap(cam: ContactCam, gap_mm: ArrayLike) -> ContactSetting:
    """The setting at a gap.

    Parameters
    ----------
    gap_mm : array_like
        Gaps above 0, below ``cam.widest_gap_mm``.

    Raises
    ------
    BobweightError
        ``contacts-never-close`` with the gap and the widest gap; ``contacts-never-open`` where
        the dwell would fill the sector.
    """
    gap = positive("gap_mm", gap_mm, "mm")
    wide = gap >= cam.widest_gap_mm
    if wide.any():
        raise BobweightError(
            "contacts-never-close", ("gap_mm",), gap_mm=float(gap[wide].flat[0]),
            limit_mm=cam.widest_gap_mm,
        )  # fmt: skip
    parting_mm = cam.lobe_mm - gap / cam.lever_ratio
    parting_deg = np.degrees(np.arccos(cam.flat_mm / parting_mm))
    _refuse_never_open(cam, 2 * parting_deg, cam.sector_deg)
    return _setting(cam, gap, parting_deg)


def at_dwell(cam: ContactCam, dwell_deg: ArrayLike) -> ContactSetting:
    """The setting at a dwell in distributor degrees.

    Raises
    ------
    BobweightError
        ``not-positive``; ``contacts-never-open`` with the dwell and the longest dwell that any
        gap gives.
    """
    dwell = positive("dwell_deg", dwell_deg, "°")
    _refuse_never_open(cam, dwell, cam.longest_dwell_deg)
    parting_deg = dwell / 2
    parting_mm = cam.flat_mm / np.cos(np.radians(parting_deg))
    return _setting(cam, cam.lever_ratio * (cam.lobe_mm - parting_mm), parting_deg)


def at_open_angle(cam: ContactCam, open_deg: ArrayLike) -> ContactSetting:
    """The setting at which the contacts stand open for so many distributor degrees; raises as
    :func:`at_dwell`."""
    return at_dwell(cam, cam.sector_deg - finite("open_deg", open_deg))


def at_percent(cam: ContactCam, dwell_percent: ArrayLike) -> ContactSetting:
    """The setting at a dwell in percent of the sector; raises as :func:`at_dwell`."""
    return at_dwell(cam, dwell_from_percent(dwell_percent, cam.lobes))


def timing_shift(cam: ContactCam, gap_mm: ArrayLike, *, drive_ratio: float = 2.0) -> TimingShift:
    """How far the spark moves as the gap is opened from a setting, degrees per mm and per thou.

    From dβ/dR_c = cos²β / (R_f sin β) at the parting angle and dR_c/dgap = −1/λ.

    Parameters
    ----------
    gap_mm : array_like
        The gap about which it is asked, as :func:`at_gap`.
    drive_ratio : float
        Turns of the crank for one of the distributor, above 0.
    """
    ratio = float(positive("drive_ratio", drive_ratio))
    beta = np.radians(at_gap(cam, gap_mm).parting_deg)
    per_mm = np.degrees(1 / (cam.lever_ratio * radius_slope_mm_per_rad(cam.flat_mm, beta)))
    return TimingShift(
        crank_deg_per_mm=plain(per_mm * ratio),
        crank_deg_per_thou=plain(per_mm * ratio * THOU_MM),
        dwell_deg_per_mm=plain(-2 * per_mm),
    )


def radius_slope_mm_per_rad(flat_mm: float, parting_rad: ArrayLike) -> Values:
    """Slope of the flat's radius where the contacts part, dr/dβ = R_f sin β / cos² β, mm/rad."""
    beta = np.asarray(parting_rad, dtype=float)
    return plain(flat_mm * np.sin(beta) / np.cos(beta) ** 2)


def dwell_from_percent(dwell_percent: ArrayLike, lobes: int) -> Values:
    """Dwell in distributor degrees, from percent of the sector (0 to 100)."""
    whole("lobes", lobes, 1, _MOST_LOBES)
    return plain(within("dwell_percent", dwell_percent, 0, 100, "%") * 3.6 / lobes)


def dwell_time_ms(dwell_deg: ArrayLike, distributor_rpm: ArrayLike) -> Values:
    """Time in ms for which the contacts stay closed, from distributor degrees and rev/min.

    A shaft turns 6 N degrees a second.
    """
    dwell = within("dwell_deg", dwell_deg, 0, 360, "°")
    return plain(dwell / (6 * positive("distributor_rpm", distributor_rpm, "rev/min")) * 1000)


def _setting(cam: ContactCam, gap_mm: np.ndarray, parting_deg: np.ndarray) -> ContactSetting:
    dwell = 2 * parting_deg
    return ContactSetting(
        gap_mm=plain(gap_mm),
        dwell_deg=plain(dwell),
        open_deg=plain(cam.sector_deg - dwell),
        dwell_percent=plain(dwell / cam.sector_deg * 100),
        parting_deg=plain(parting_deg),
    )


def _refuse_never_open(cam: ContactCam, dwell_deg: ArrayLike, limit_deg: float) -> None:
    dwell = np.asarray(dwell_deg)
    long = dwell >= limit_deg
    if long.any():
        raise BobweightError(
            "contacts-never-open", ("dwell_deg",), dwell_deg=float(dwell[long].flat[0]),
            limit_deg=limit_deg, lobes=cam.lobes,
        )  # fmt: skip


def _inside_sector(dwell_deg: ArrayLike, lobes: int) -> np.ndarray:
    """Dwell above 0 and below the sector; a straight flat cannot hold the heel past 90° of its
    middle, so below 180 too."""
    limit = min(360.0 / whole("lobes", lobes, 1, _MOST_LOBES), 180.0)
    dwell = finite("dwell_deg", dwell_deg)
    bad = (dwell <= 0) | (dwell >= limit)
    if bad.any():
        raise BobweightError(
            "dwell-out-of-sector", ("dwell_deg",), dwell_deg=float(dwell[bad].flat[0]),
            limit_deg=limit, lobes=lobes,
        )  # fmt: skip
    return dwell
