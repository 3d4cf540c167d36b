"""The user's OpenSSH client configuration: what it says of a host is carried out or refused by name, never ignored.

Only the file of the user is read, or the one that takes its place; no command that stands in it is ever run.
"""
