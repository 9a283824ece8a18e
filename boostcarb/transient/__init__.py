"""Pressures while they change: a backfire running up the passages, and a signal on its way to its chamber."""
