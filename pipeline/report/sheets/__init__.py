"""The sheets, a module each: what was read in, a Sheet out."""
