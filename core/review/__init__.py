"""Frames of a flown take: read, measured, and what they teach the plan.

`stills` and `timeline` read a folder, `measure` and `drift` look at the pixels, `review` puts
what was measured beside what was predicted, `learn` hands it to the plan.
"""
