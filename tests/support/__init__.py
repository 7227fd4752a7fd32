"""Helpers and fixtures the tests share."""
