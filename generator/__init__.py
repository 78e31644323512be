"""The package of benchlore. Its name is a common word: DISTRIBUTION tells it from another package of that name."""

import os
import warnings

DISTRIBUTION = "benchlore"

# The work is spread over processes; threads of the arithmetic below them would only wait for one another, and their
# number would show in the last digit. Read when numpy is first imported.
for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

# A float that ran over is found out by what comes of it; a line of numpy's about it means nothing to who reads a note.
# The tests take each as an error.
warnings.filterwarnings("ignore", "(?:divide by zero|invalid value|overflow|underflow) ", RuntimeWarning)
