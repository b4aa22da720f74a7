"""Package data: read it with importlib.resources."""
