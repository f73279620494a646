"""The quote desk: drafts, answers, holds, acceptance, promises and what became of them."""
