"""The running: case files, units, loops, solvers, results, reports, the command line."""
