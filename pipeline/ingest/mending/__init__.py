"""Set aside, mended, taken in again: rows that a person corrects in set_aside.xlsx come in over what the file says.

The source file stays as it is. `book_reading` finds what was changed, `ledger` keeps it, `overlay` lays it over the
rows of the file while they are read, `lines` and `book` write down what is still set aside.
"""
