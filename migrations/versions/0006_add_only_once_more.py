"""Further records that are only ever added to."""

from alembic import op

from app.records.migrate import add_only

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

# The new add-only tables of 0005.
ADD_ONLY: tuple[str, ...] = (
    "aftercare_card",
    "day_note",
    "exit_care",
    "exit_check",
    "guest_link",
    "incident_fact",
    "incident_kept",
    "incident_step",
    "letter_check",
    "letter_page",
    "letter_scan",
    "outcome_told",
    "question_change",
    "shore_look",
    "today_slip",
)


def upgrade() -> None:
    add_only(op, ADD_ONLY)


def downgrade() -> None:
    raise RuntimeError("Going back would let safety records be rewritten; restore a backup instead.")
