"""Records that are only ever added to: the store itself refuses to change or remove them."""

from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

ADD_ONLY = (
    "air_test", "briefing", "compressor_hours", "conditions", "consent", "doctors_letter", "drill", "emergency_check", "fill",
    "head_count", "health_read", "incident_note", "plan", "pressure", "reading", "shop_limit", "skill",
    "talk", "trail", "water_event",
)  # fmt: skip


def upgrade() -> None:
    if op.get_bind().dialect.name == "sqlite":
        for table in ADD_ONLY:
            for verb in ("UPDATE", "DELETE"):
                op.execute(
                    f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
                    f"BEGIN SELECT RAISE(ABORT, '{table} is add only'); END"
                )
        return
    op.execute(
        "CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ BEGIN RAISE EXCEPTION '% is add only', TG_TABLE_NAME; END $$"
    )
    for table in ADD_ONLY:
        op.execute(
            f"CREATE TRIGGER {table}_add_only BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} "
            "FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()"
        )


def downgrade() -> None:
    raise RuntimeError("Going back would let safety records be rewritten; restore a backup instead.")
