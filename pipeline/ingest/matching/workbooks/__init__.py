"""What the sheets and files of a firm say of one another."""
