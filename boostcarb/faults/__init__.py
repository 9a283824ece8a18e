"""What happens when one thing fails: every single fault tried on a carburetor, judged, and ranked."""
