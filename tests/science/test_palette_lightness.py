"""The colours: contrasts as WCAG asks for them, and a ramp that grows lighter."""

import numpy as np
import pytest
from stillwater.siting.charts.palette import (
    DARK,
    INK,
    LIGHT,
    LINK,
    PAPER,
    RAMP,
    SHADE,
    SOFT,
    WASH,
    channels,
    quality_colour,
    rgba,
)


def luminance(colour):
    """Return the relative luminance of a colour (W3C, WCAG 2.1)."""
    part = np.array(channels(colour)) / 255.0
    part = np.where(part <= 0.03928, part / 12.92, ((part + 0.055) / 1.055) ** 2.4)
    return float(part @ [0.2126, 0.7152, 0.0722])


def contrast(one, other):
    """Return the contrast of two colours, 1 to 21 (W3C, WCAG 2.1)."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_words_stand_out_from_their_ground_as_wcag_asks():
    """Contrast of 4.5 for words, 3 for what must be told apart (WCAG 2.1, 1.4.3 and 1.4.11)."""
    for words, ground in ((INK, PAPER), (INK, WASH), (SOFT, PAPER), (LINK, PAPER), (INK, SHADE)):
        assert contrast(words, ground) >= 4.5, (words, ground)
    assert contrast(DARK, LIGHT) >= 3.0
    assert luminance("#ffffff") == pytest.approx(1.0) and contrast("#000000", "#ffffff") == pytest.approx(21.0)


def test_the_ramp_of_quality_grows_lighter_and_its_steps_are_even():
    light = [luminance(one) for one in RAMP]
    assert light == sorted(light) and len(set(light)) == len(RAMP)
    for quality, step in ((-0.1, 0), (0.0, 0), (0.19, 0), (0.21, 1), (0.79, 3), (0.99, 4), (1.0, 4), (1.3, 4)):
        assert quality_colour(quality) == RAMP[step]
    assert rgba("#ff8000", 128) == "255,128,0,128"
