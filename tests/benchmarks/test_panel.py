"""A curved panel of 600 x 300 pixels, its light and the whole picture file, beside working out every pixel for itself.

The light: at most 25 ms. The picture as PNG: at most 30 ms; it was 57, of which 29 were compression.
"""

from io import BytesIO

import numpy as np
from matplotlib.image import imread, imsave
from paints import paint_of
from scipy.interpolate import PchipInterpolator

from refinishlib.colour import predict, weights
from refinishlib.colour.difference import ciede2000
from refinishlib.colour.lamp import d65
from refinishlib.picture import panel, screen

ANGLES = (15, 25, 45, 75, 110)
SILVER = predict.lab(paint_of("Millrace Silver, coarser"))[0]
WHITE = weights.weights(d65()).sum(axis=0)


def plain():
    """Every pixel: its normal, its mirror direction, its angle, its CIELAB, its light."""
    bow = panel.Bow()
    across = np.radians(bow.turned_deg + bow.bow_deg * np.linspace(-1, 1, panel.WIDTH))[None, :, None]
    up = np.radians(bow.crown_deg * np.linspace(1, -1, panel.HEIGHT))[:, None, None]
    normal = np.concatenate(
        np.broadcast_arrays(np.sin(across) * np.cos(up), np.sin(up), np.cos(across) * np.cos(up)), axis=-1
    )
    lamp = np.array([-np.sin(np.radians(bow.lamp_deg)), 0, np.cos(np.radians(bow.lamp_deg))])
    lit = normal @ lamp
    mirrored = 2 * lit[..., None] * normal - lamp
    angle = np.clip(np.degrees(np.arccos(mirrored[..., 2])), 15, 110)
    xyz = weights.tristimulus_from_lab(PchipInterpolator(ANGLES, SILVER)(angle), WHITE)
    return xyz @ screen.screen_matrix(WHITE).T * lit[..., None]


def as_lab(linear):
    xyz = linear.astype(float) @ np.linalg.inv(screen.screen_matrix(WHITE)).T
    return weights.lab_from_tristimulus(xyz, WHITE)


def test_panel(benchmark):
    linear = benchmark(panel.light, SILVER, ANGLES)
    assert linear.shape == (300, 600, 3)
    assert ciede2000(as_lab(plain()), as_lab(linear)).max() < 0.01


def test_panel_plain(benchmark):
    benchmark(plain)


def test_picture(benchmark):
    file = benchmark(lambda: screen.png(panel.curved(SILVER)))
    drawn = np.round(imread(BytesIO(file))[..., :3] * 255)
    assert np.abs(drawn - np.round(imread(BytesIO(plain_picture()))[..., :3] * 255)).max() <= 1


def plain_picture():
    linear = plain()
    file = BytesIO()
    imsave(file, screen.encode(linear / linear.max())[0], format="png")
    return file.getvalue()


def test_picture_plain(benchmark):
    benchmark(plain_picture)
