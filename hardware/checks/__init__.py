"""Checks of the hardware folder: circuits, drawings, pins and texts."""
