"""Machine and study files in the making: what is asked for them, and files made of answers."""
