"""Ratios, not seconds: how refstd compares with the bare floor of the same machine in the same run.

Run: python -m tests.benchmark
"""
