"""Books of many designs, set on the spot: sound ones, and the same with one flaw each. All of it invented."""
