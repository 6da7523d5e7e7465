"""Answers as pages: what is printed, read on a screen or drawn, each a function of an answer."""
