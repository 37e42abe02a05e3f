"""Tables are made: what a change makes new, whose turn it is, each from its file, in this process or beside it."""
