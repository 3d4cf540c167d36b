"""Platforms are data: ``definition`` says what a platform's folder may hold, ``catalogue`` finds the folders.

No platform is named in Python.
"""
