"""The planning core and the record of a print shop that runs hot polymers."""
