"""Times scikit-learn's k-means for 1 to 6 groups on the rows of the zones bench.

Arguments: a file of rows (64-bit floats, little-endian); the number of variables. Threads: OMP_NUM_THREADS.
Prints the milliseconds of the six fits together, then the inertia of each. Reading the file is not counted.
"""

import sys
import time

import numpy
from sklearn.cluster import KMeans


def main():
    rows = numpy.fromfile(sys.argv[1], dtype="<f8").reshape(-1, int(sys.argv[2]))
    start = time.perf_counter()
    fits = [KMeans(n_clusters=k, n_init=20, max_iter=300, random_state=1).fit(rows) for k in range(1, 7)]
    print(f"{(time.perf_counter() - start) * 1e3:.1f}", *(repr(float(fit.inertia_)) for fit in fits))


main()
