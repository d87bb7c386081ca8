"""Passwords are hashed slowly, and in little memory."""

from django.contrib.auth.hashers import Argon2PasswordHasher

from instructors.signing_in.passwords import FrugalArgon2Hasher


def test_a_try_at_the_door_takes_19_mib_of_memory():
    assert "$m=19456,t=2,p=1$" in FrugalArgon2Hasher().encode("a long enough phrase 7", "salt-of-a-test")


def test_a_hash_made_with_more_is_taken_and_made_anew():
    kept = Argon2PasswordHasher().encode("a long enough phrase 7", "salt-of-a-test")
    assert FrugalArgon2Hasher().verify("a long enough phrase 7", kept)
    assert FrugalArgon2Hasher().must_update(kept)
