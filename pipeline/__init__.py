"""fitback: from installation records and service callbacks to causes, weak steps and fair rates."""
