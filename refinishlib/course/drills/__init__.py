"""What each lesson lets apprentices practise. Travels with the lessons: a practice problem shows its own answer."""
