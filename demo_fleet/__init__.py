"""The fictional shop that the demo runs, and the generator of scenarios of every size."""
