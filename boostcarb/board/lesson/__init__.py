"""Lessons on the board: questions with reasons, and a hidden fault to hunt, both worked out of the model."""
