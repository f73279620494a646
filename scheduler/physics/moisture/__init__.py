"""Water in filament: how much a polymer holds, and how long it takes to leave or to come back."""
