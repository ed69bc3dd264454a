"""Random small books, a judge that knows the rules by the design's words alone, and the program held against it."""
