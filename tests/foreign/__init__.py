"""Books as other programs write them, made here, and every command over them."""
