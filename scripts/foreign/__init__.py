"""Recordings of other origin: devices, clocks and faults that share nothing with the tool's `demo`."""
