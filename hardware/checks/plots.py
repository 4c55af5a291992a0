"""Draws the plots, always the same way, and compares them with the committed ones."""

import io

import matplotlib

matplotlib.use("Agg")

from matplotlib import pyplot

from .table import ROOT

COLOURS = ["#0b5394", "#b45f06", "#38761d", "#741b47"]
drawn = {}


def lines(circuit, name, curves, x_label, y_label, title, *, log=False, band=None, marks=(),
          levels=(), x_limits=None, y_limits=None):
    """One plot of curves (x, y, label); band shades, marks and levels draw thin lines."""
    figure, axes = pyplot.subplots(figsize=(7, 4), dpi=110)
    for index, (x, y, label) in enumerate(curves):
        axes.plot(x, y, color=COLOURS[index % len(COLOURS)], label=label, linewidth=1.6)
    if log:
        axes.set_xscale("log")
    if band:
        axes.axvspan(*band, color="#d9ead3", alpha=0.6, zorder=0)
    for mark in marks:
        axes.axvline(mark, color="#999999", linewidth=0.8, linestyle="--")
    for height, label in levels:
        axes.axhline(height, color="#999999", linewidth=0.8, linestyle="--")
        axes.annotate(label, (0.995, height), xycoords=("axes fraction", "data"), ha="right",
                      va="bottom", fontsize=8, color="#555555")
    if x_limits:
        axes.set_xlim(*x_limits)
    if y_limits:
        axes.set_ylim(*y_limits)
    axes.set_xlabel(x_label)
    axes.set_ylabel(y_label)
    axes.set_title(title, fontsize=11)
    axes.grid(True, which="both", color="#dddddd", linewidth=0.5)
    if any(label for _, _, label in curves):
        axes.legend(fontsize=8, loc="best")
    save(figure, ROOT / "circuits" / circuit / f"{name}.png")


def histogram(circuit, name, groups, x_label, title, limits):
    """How often each value came; limits are (value, label) drawn as thin lines."""
    figure, axes = pyplot.subplots(figsize=(7, 4), dpi=110)
    for index, (values, label) in enumerate(groups):
        axes.hist(values, bins=25, color=COLOURS[index % len(COLOURS)], alpha=0.8, label=label)
    for value, label in limits:
        axes.axvline(value, color="#990000", linewidth=1.2, linestyle="--")
        axes.annotate(f"{label} {value:g}", (value, 0.97), xycoords=("data", "axes fraction"),
                      rotation=90, ha="right", va="top", fontsize=8, color="#990000")
    axes.set_xlabel(x_label)
    axes.set_ylabel("runs")
    axes.set_title(title, fontsize=11)
    axes.legend(fontsize=8, loc="best")
    save(figure, ROOT / "circuits" / circuit / f"{name}.png")


def save(figure, path):
    """Keeps the picture's bytes until the run writes or compares them."""
    figure.tight_layout()
    data = io.BytesIO()
    figure.savefig(data, format="png", metadata={"Software": None})
    pyplot.close(figure)
    drawn[path] = data.getvalue()


def text_file(circuit, name, text):
    """A table beside the plots, kept and compared in the same way."""
    drawn[ROOT / "circuits" / circuit / name] = text.encode()
