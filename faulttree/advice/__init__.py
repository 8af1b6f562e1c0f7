"""What to do next: from belief, standing conditions and what is done."""
