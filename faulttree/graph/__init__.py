"""The book as a graph: what lies below an event, what holds, cut sets, importance."""
