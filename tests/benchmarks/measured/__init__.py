"""What the benchmarks measure: one module a question, each with `measure(quick)` giving figures."""
