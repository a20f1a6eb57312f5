"""What people do, one module a subject. A function whose first argument is `lab` is one use case, one transaction."""
