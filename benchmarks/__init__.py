"""How fast the functions are: ``python -m benchmarks`` prints ratios measured side by side in one run."""
