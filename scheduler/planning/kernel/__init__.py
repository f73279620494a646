"""The decoder's inner loops over plain flat arrays.

Every function here keeps to whole numbers, floats and one-dimensional arrays that it indexes one
element at a time, so that the same text runs on Python lists, at once and without a compiler, and
compiled on numpy arrays. Nothing here allocates, reads a clock or knows an id.
"""
