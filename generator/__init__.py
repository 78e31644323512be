"""The package of benchlore. Its name is a common word: DISTRIBUTION tells it from another package of that name."""

import os

DISTRIBUTION = "benchlore"

# The work is spread over processes; threads of the arithmetic below them would only wait for one another, and their
# number would show in the last digit. Read when numpy is first imported.
for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")
