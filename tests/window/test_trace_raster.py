"""Pixels painted from arrays are those that lie under the trace, blended by how much of each is covered."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from phasemark.window.traces.trace_raster import blend, fill_columns, paint_band, paint_dots

INK = 0xFF204060
ROWS, COLUMNS = 20, 6


def alpha(image: np.ndarray) -> np.ndarray:
    """Share of each pixel that is covered."""
    return (image >> np.uint32(24)).astype(float) / 255


def blank() -> np.ndarray:
    return np.zeros((ROWS, COLUMNS), np.uint32)


def boxes(top: int = 0, bottom: int = ROWS) -> np.ndarray:
    return np.array([[top, bottom]])


def test_blending_mixes_channels_apart() -> None:
    """Half of black over white is grey in all channels and stays opaque; all of it is black, none of it white."""
    image = np.full((1, 3), 0xFFFFFFFF, np.uint32)
    blend(image.reshape(-1), np.array([0, 1, 2]), 0xFF000000, np.array([0.0, 0.5, 1.0]))
    assert [hex(p) for p in image[0]] == ["0xffffffff", "0xff7f7f7f", "0xff000000"]


@given(st.lists(st.tuples(st.floats(-9, 29), st.floats(0, 25)), min_size=COLUMNS, max_size=COLUMNS), st.booleans())
def test_a_band_covers_what_lies_under_it_within_its_box(places: list[tuple[float, float]], tall: bool) -> None:
    """In every column the covered shares add up to the height of the band inside the box, at the right rows."""
    top = np.array([[at for at, _ in places]])
    bottom = top + np.array([[high * (1 if tall else 0.1) for _, high in places]])
    image = blank()
    paint_band(image, boxes(3, 17), top, bottom, INK)
    rows = np.arange(ROWS)[:, None]
    wanted = np.clip(np.minimum(rows + 1, np.minimum(bottom, 17)) - np.maximum(rows, np.maximum(top, 3)), 0, 1)
    assert np.abs(alpha(image) - wanted).max() < 0.02


def test_missing_columns_of_a_band_are_left_out() -> None:
    """NaN paints nothing and harms no neighbour."""
    image = blank()
    top = np.array([[5.0, np.nan, 5.0, 5.0, np.nan, 5.0]])
    paint_band(image, boxes(), top, top + 3, INK)
    assert alpha(image).sum(axis=0).tolist() == [3, 0, 3, 3, 0, 3]
    paint_band(image, boxes(), np.full((1, COLUMNS), np.nan), top, INK)
    assert alpha(image).sum() == 12


def test_filled_columns_are_whole_pixels_and_at_least_one() -> None:
    """From floor to ceil, one pixel where both meet, cut at the box, nothing where missing."""
    image = blank()
    top = np.array([[4.2, 8.0, np.nan, -50.0, 30.0, 2.0]])
    bottom = np.array([[6.1, 8.0, np.nan, 99.0, 40.0, 3.0]])
    fill_columns(image, boxes(2, 18), top, bottom, INK)
    assert np.flatnonzero(image[:, 0]).tolist() == [4, 5, 6]
    assert np.flatnonzero(image[:, 1]).tolist() == [8]
    assert not image[:, 2].any()
    assert np.flatnonzero(image[:, 3]).tolist() == list(range(2, 18))
    assert np.flatnonzero(image[:, 4]).tolist() == [17]
    assert np.flatnonzero(image[:, 5]).tolist() == [2]


def test_traces_do_not_touch_each_others_boxes() -> None:
    """Two traces painted at once stay each in its own rows."""
    image = blank()
    both = np.array([[0, 8], [10, 20]])
    top, bottom = np.zeros((2, COLUMNS)), np.full((2, COLUMNS), 50.0)
    fill_columns(image, both, top, bottom, INK)
    assert np.flatnonzero(image[:, 0]).tolist() == [*range(8), *range(10, 20)]


def test_a_dot_has_the_area_of_its_circle_and_is_cut_at_its_box() -> None:
    """A dot of four pixels covers about four pi, centred on its place; half of it beyond the box is gone."""
    image = np.zeros((20, 20), np.uint32)
    paint_dots(image, boxes(0, 20), np.array([10.0]), np.array([9.0]), across=4.0, colour=INK)
    cover = alpha(image)
    assert cover.sum() == pytest.approx(4 * np.pi, rel=0.06)
    rows, columns = np.mgrid[0:20, 0:20] + 0.5
    assert (cover * rows).sum() / cover.sum() == pytest.approx(9.0, abs=0.01)
    assert (cover * columns).sum() / cover.sum() == pytest.approx(10.0, abs=0.01)
    cut = np.zeros((20, 20), np.uint32)
    paint_dots(cut, boxes(9, 20), np.array([10.0, 0.0]), np.array([9.0, 15.0]), across=4.0, colour=INK)
    assert not cut[:9].any()
    assert alpha(cut)[:, 5:].sum() == pytest.approx(cover.sum() / 2, rel=0.01)


@pytest.mark.parametrize("rows", [20, 300])
@pytest.mark.parametrize("height", [0.6, 3.2, 9.0, 18.5])
def test_some_columns_of_a_wider_image_are_painted_alone(rows: int, height: float) -> None:
    """A part of an image is painted as an image of its size is, and nothing beside it changes."""
    draw = np.random.default_rng(4)
    top = draw.uniform(0, rows, (1, 30))
    x, y = draw.uniform(0, 30, 5), draw.uniform(0, rows, 5)
    whole, alone = np.full((rows, 50), 0xFF123456, np.uint32), np.full((rows, 30), 0xFF123456, np.uint32)
    for image in (whole[:, 11:41], alone):
        fill_columns(image, boxes(0, rows // 2), top, top + height, INK)
        paint_band(image, boxes(0, rows), top, top + height, INK)
        paint_dots(image, boxes(0, rows).repeat(5, axis=0), x, y, across=4.0, colour=INK)
    assert (whole[:, 11:41] == alone).all()
    assert (whole[:, :11] == 0xFF123456).all()
    assert (whole[:, 41:] == 0xFF123456).all()


def test_a_band_as_tall_as_its_box_is_filled_in_every_column() -> None:
    """Bands too tall to be painted row by row are whole, also where only some columns have one."""
    image = np.zeros((300, 40), np.uint32)
    top = np.where(np.arange(40) % 3 == 0, 10.0, np.nan)[None]
    paint_band(image, boxes(0, 300), top, top + 250, INK)
    assert (alpha(image).sum(axis=0) == np.where(np.arange(40) % 3 == 0, 250, 0)).all()


def test_what_a_box_held_is_gone_once_its_columns_are_filled() -> None:
    """Filling overwrites the rows of the box, empty columns too, and leaves other rows."""
    image = np.full((ROWS, COLUMNS), 0xFFFFFFFF, np.uint32)
    fill_columns(image, boxes(5, 10), np.full((1, COLUMNS), np.nan), np.full((1, COLUMNS), np.nan), INK)
    assert not image[5:10].any()
    assert (np.delete(image, range(5, 10), axis=0) == 0xFFFFFFFF).all()
