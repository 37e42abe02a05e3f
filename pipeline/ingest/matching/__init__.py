"""A firm's own sheets: the mapping that reads them, and the proposal of one."""
