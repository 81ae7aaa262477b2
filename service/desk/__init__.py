"""The desk of a press: its titles, the files that come in for them, and the words to their authors.

What is here knows no page and no address: the web pages and the API both come in by it.
"""
