"""What makes the demo's files: the fleet, its work, the stories hidden in it, and the writing."""
