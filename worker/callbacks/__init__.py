"""Callbacks: one signed call to an address of the caller's own, once an inspection has ended.

What is sent, and how it is signed, is as the Standard Webhooks specification has it. ``address`` says which addresses
are called at all, ``message`` what is said, ``signing`` by which secret, ``sending`` makes one try, and ``courier`` has
a worker's threads see to all that are due. The rows, and so what is due, are in ``worker.store.callbacks``.
"""
