"""Schedules of any size: boats told apart, counted and read row group by row group."""
