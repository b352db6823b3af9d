"""Lets the tests import the modules of this folder by name."""
