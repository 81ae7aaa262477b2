"""Lets people and programs in: the command line, the HTTP API and the web pages. Measures nothing itself."""
