"""What can be promised, and how surely."""
