"""Forms, one door a sheet or several below one another."""
