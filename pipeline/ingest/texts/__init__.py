"""One text as people write it: a day, a number, a unit, a closed word; and what a column shows of its own manner."""
