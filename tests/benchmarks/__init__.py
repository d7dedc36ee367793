"""How fast the functions are: ``python -m tests.benchmarks`` prints ratios measured side by side in
one run.
"""
