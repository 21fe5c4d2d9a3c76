"""Every kind of prompt: which cards it makes, which skills they need, how one is asked and checked."""
