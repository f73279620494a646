"""A large shop's plan improved in parts at the same time, and put together again."""
