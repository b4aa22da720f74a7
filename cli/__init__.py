"""The command line: words in, calls out, no modelling."""
