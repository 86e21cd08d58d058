"""What spoils each direction, in words with figures; nothing is said that was not computed."""
from __future__ import annotations

import numpy as np

from ..assessment import Assessment
from ..verdict.causes import Causes
from ..verdict.competing import competing_surfaces
from ..verdict.walls import HIDDEN
from .hiding import blocked_words, hider_words
from .twosurfaces import competitor_words
from .wording import cut, degrees, level_words, part_time_words, where_words


def bin_reasons(assessment: Assessment, spoiled: Causes) -> list[str]:
    """Say for each bin what spoils it; an empty text where nothing does.

    Returns
    -------
    list of str
        Such as “car park from 12 to 25 m out takes 38 % of the footprints from 8 to 20°”.
    """
    a = assessment
    angle = [degrees(angle_deg) for angle_deg in a.settings.elevation_deg]
    bad = ~a.good
    any_bad = bad.any(axis=0).tolist()
    lowest = np.argmax(bad, axis=0).tolist()
    highest = (len(angle) - 1 - np.argmax(bad[::-1], axis=0)).tolist()
    # plain numbers are formatted faster than numpy's
    counts, width, cause = a.counts.tolist(), a.windows.width.tolist(), spoiled.cause.tolist()
    near, far, lost = spoiled.near_m.tolist(), spoiled.far_m.tolist(), spoiled.lost.tolist()
    at_level = level_words(spoiled.level_m, len(a.candidate.levels_m))
    texts, other = [], competing_surfaces(a)
    whole, busy = _blocked_by_bin(spoiled), busy_by_bin(a)
    for i in range(a.settings.bins):
        if not any_bad[i]:
            texts.append("" if counts[i] else _too_little(a, i))
            continue
        if whole[i] is not None and (cause[i] < 0 or whole[i].weight[i] > spoiled.weight[cause[i], i]):
            texts.append(cut(_whole_words(a, whole[i].kind, i, angle, bad[:, i])))
            continue
        if cause[i] < 0:
            texts.append("")
            continue
        what = where_words(_name_of(spoiled, cause[i]), near[i], far[i])
        angles = (f"from {angle[lowest[i]]} to {angle[highest[i]]}°" if highest[i] > lowest[i]
                  else f"at {angle[lowest[i]]}°")
        text = f"{what} takes {max(100 * lost[i], 1):.0f} % of the footprints {angles}{at_level}"
        if width[i] > 0 and not counts[i]:
            text += f"; {_too_little(a, i)}"
        texts.append(text)
    told = {i: competitor_words(competitor, float(a.separation_m[i])) for i, competitor in other.items()}
    return [cut("; ".join(part for part in (told.get(i), text, busy[i]) if part)) for i, text in enumerate(texts)]


def busy_by_bin(assessment: Assessment) -> list[str]:
    """Say for each bin what spoils its window part of the time, such as “berth, there 30 % of the time”."""
    a = assessment
    busy = a.window_busy
    if not busy.any():
        return [""] * a.settings.bins
    index = np.arange(len(a.settings.elevation_deg))[:, None]
    inside = (index >= a.windows.first) & (index <= a.windows.last)
    # the most frequent stand first, and of equals the one that covers more
    covers = np.stack([np.max(share * inside, axis=0) for share in a.partly_shares])
    most = np.argmax(covers > 1.0 - a.settings.min_share, axis=0)
    names = [part_time_words(name, share) for name, share in a.partly_names]
    return [names[k] if part > 0 else "" for k, part in zip(most.tolist(), busy.tolist())]


def _blocked_by_bin(spoiled):
    """Return what takes most whole footprints in each bin; None where nothing does."""
    bins = spoiled.cause.size
    if not spoiled.blocked:
        return [None] * bins
    weight = np.stack([blocked.weight for blocked in spoiled.blocked])
    most = np.argmax(weight, axis=0)
    return [spoiled.blocked[most[i]] if weight[most[i], i] > 0 else None for i in range(bins)]


def _whole_words(a, kind, i, angle, bad):
    """Say what takes whole footprints of a bin, and which."""
    low, high = int(np.argmax(bad)), len(bad) - 1 - int(np.argmax(bad[::-1]))
    which = f"from {angle[low]} to {angle[high]}°" if high > low else f"at {angle[low]}°"
    text = (f"{blocked_words(a, kind, np.arange(a.settings.bins) == i)} "
            f"{'hides the satellites' if kind == 'skyline' else 'takes the reflections'} {which}")
    if a.windows.width[i] > 0 and not a.counts[i]:
        text += f"; {_too_little(a, i)}"
    return text


def _too_little(a: Assessment, i: int) -> str:
    """Say why a bin with a window does not count."""
    n, res = float(a.cycles[i]), float(a.separation_m[i])
    if n < a.settings.min_cycles:
        return f"only {n:.1f} oscillations ({degrees(a.settings.min_cycles)} needed)"
    if a.settings.max_res_m is not None and res > a.settings.max_res_m:
        return f"tells only surfaces {res:.2f} m apart ({degrees(a.settings.max_res_m)} m needed)"
    return ""


def _name_of(spoiled: Causes, cause: int) -> str:
    """Name a cause, such as “hidden by pier or quay 10 m out”."""
    name = spoiled.names[cause]
    return f"hidden by {hider_words(name, spoiled.out_m[cause])}" if spoiled.kinds[cause] == HIDDEN else name
