"""The tests, as a package of their own: a library that they use also brings one named `tests`."""
