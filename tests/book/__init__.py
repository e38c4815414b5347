"""Tests of the record book."""
