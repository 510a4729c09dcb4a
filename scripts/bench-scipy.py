"""Times SciPy's k-d tree (12 nearest, inverse squared distance) on the sites of the surface bench.

Arguments: a CSV with the columns east_m, north_m, value; the number of threads; the number of rounds.
Prints the median in milliseconds. Building the tree is counted; reading the file is not.
"""

import statistics
import sys
import time

import numpy
from scipy.spatial import cKDTree

N_SIDE = 1000
NEAREST = 12


def surface(sites, values, centers, n_threads):
    distance, index = cKDTree(sites).query(centers, k=NEAREST, workers=n_threads)
    weight = 1.0 / numpy.maximum(distance * distance, 1e-60)
    return (weight * values[index]).sum(axis=1) / weight.sum(axis=1)


def main():
    rows = numpy.loadtxt(sys.argv[1], delimiter=",", skiprows=1)
    n_threads, n_rounds = int(sys.argv[2]), int(sys.argv[3])
    middle = numpy.arange(N_SIDE) + 0.5
    east_m, north_m = numpy.meshgrid(middle, middle)
    centers = numpy.column_stack([east_m.ravel(), north_m.ravel()])
    times = []
    for _ in range(n_rounds):
        start = time.perf_counter()
        surface(rows[:, :2], rows[:, 2], centers, n_threads)
        times.append((time.perf_counter() - start) * 1e3)
    print(f"{statistics.median(times):.1f}")


main()
