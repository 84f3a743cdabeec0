"""How a book came to its present shape: one step a module, none of them ever changed."""
