"""Findings: the one type for all that is wrong, their order, waivers and fingerprints."""
