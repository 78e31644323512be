"""The package of benchlore. Its name is a common word: DISTRIBUTION tells it from another package of that name."""

DISTRIBUTION = "benchlore"
