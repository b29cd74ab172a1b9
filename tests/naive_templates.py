"""Ramps, saw cuts and wrapped paper in plain three dimensions; shares no code with the package."""

import numpy as np


def wrapped(around, along, diameter):
    """Where a point of the paper lies on the round, axis up, printed face outside, seen from outside."""
    angle = np.asarray(around) / (diameter / 2)
    return np.stack([diameter / 2 * np.cos(angle), diameter / 2 * np.sin(angle), np.asarray(along, float)], axis=-1)


def hand_of(points):
    """Hand of a short helix, axis up, by the screw rule: a right-hand one turns anticlockwise as it rises."""
    (x0, y0, z0), (x1, y1, z1) = points[0], points[-1]
    turned = x0 * y1 - y0 * x1
    return "right" if turned * (z1 - z0) > 0 else "left"


def is_flat(points):
    """How far points are from the plane that fits them best."""
    centred = points - points.mean(axis=0)
    return np.linalg.svd(centred)[1][-1] / np.sqrt(len(points))


def least_gap(slope, above, lead, arc, radii):
    """Least height of a plane over a ramp, everywhere on the wall."""
    angles = np.linspace(-arc / 2, arc / 2, 501)
    radii = np.linspace(*radii, 5)[:, None]
    return (above + slope * radii * np.sin(angles) - lead * angles / (2 * np.pi)).min()


def least_distance(slope, above, lead, arc, radii):
    """Least true distance in space from a flat cut to the points of a ramp, everywhere on the wall."""
    angles, radii = np.meshgrid(np.linspace(-arc / 2, arc / 2, 1001), np.linspace(*radii, 9))
    ramp = np.stack([radii * np.cos(angles), radii * np.sin(angles), lead * angles / (2 * np.pi)], axis=-1)
    corner, along, up_the_cut = (np.array(p) for p in ((0, 0, above), (1, 0, 0), (0, 1, slope)))
    square = np.cross(along, up_the_cut) / np.linalg.norm(np.cross(along, up_the_cut))
    return ((corner - ramp) @ square).min()


def lowest_plane(lead, arc, radii, clear):
    """Least height over the ramp's middle at which any plane is clear of it by a true distance, by trying slopes."""
    slopes = np.linspace(0, 4 * lead / (2 * np.pi) / min(radii), 801)
    return min(clear / np.cos(np.arctan(slope)) - least_gap(slope, 0, lead, arc, radii) for slope in slopes)
