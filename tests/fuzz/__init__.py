"""Files that nobody would make, made by the thousand, and what must be true of whatever is read of them.

``python -m tests.fuzz --help`` says how to run many; a few hundred run with the tests.
"""
