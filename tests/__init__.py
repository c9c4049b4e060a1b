"""Tests of Yardtrue, one file per module."""
