"""How much the promises say: what nobody would notice, what can never happen, what a proof rests on."""
