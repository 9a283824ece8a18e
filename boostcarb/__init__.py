"""The carburetor as a graph of spaces and passages, solved, judged and planned."""

__version__ = "0.1.0"
