"""What measurement science says. Pure; scipy is imported only inside the function that needs it."""
