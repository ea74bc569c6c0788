"""Further records that are only ever added to."""

from alembic import op

from app.records.store.migrate import add_only

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

# The new add-only tables of 0005.
ADD_ONLY: tuple[str, ...] = (
    "aftercare_card",
    "arrival",
    "breach",
    "breach_step",
    "chore_run",
    "day_note",
    "day_seal",
    "erasure_request",
    "exit_care",
    "exit_check",
    "guest_link",
    "health_stage",
    "incident_fact",
    "incident_kept",
    "incident_step",
    "keeping_rule",
    "legal_hold",
    "letter_check",
    "letter_page",
    "letter_scan",
    "look_review",
    "outcome_told",
    "paper_form",
    "paper_record",
    "paper_sheet",
    "question_change",
    "secrecy",
    "shore_look",
    "text_check",
    "tidy_run",
    "today_slip",
    "words_shown",
)


def upgrade() -> None:
    add_only(op, ADD_ONLY)


def downgrade() -> None:
    raise RuntimeError("Going back would let safety records be rewritten; restore a backup instead.")
